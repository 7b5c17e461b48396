// Elements with text, never with markup: whatever a file holds is shown as it is.

export function element(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (value !== null && value !== undefined && value !== false) made.setAttribute(key, value === true ? "" : value);
  }
  made.append(...children.filter((child) => child !== null && child !== undefined && child !== ""));
  return made;
}

export const byId = (id) => document.getElementById(id);

/** Offers a text or bytes as a file to keep. */
export function offered(name, content, type) {
  const address = URL.createObjectURL(new Blob([content], { type }));
  element("a", { href: address, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(address), 1000);
}
