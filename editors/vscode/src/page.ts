// Inside the drawing's page: put the picture in, tell which card was clicked, mark the card of the part at the cursor.

declare function acquireVsCodeApi(): { postMessage(message: unknown): void };

const host = acquireVsCodeApi();
const place = document.getElementById("drawing") as HTMLElement;
const none = document.getElementById("none") as HTMLElement;
let here: string | null = null;

function put(svg: string | null): void {
  none.hidden = svg !== null;
  place.replaceChildren();
  if (svg === null) {
    return;
  }
  const parsed = new DOMParser().parseFromString(svg, "image/svg+xml");
  if (parsed.querySelector("parsererror") !== null) {
    return;
  }
  place.append(document.importNode(parsed.documentElement, true));
  for (const card of place.querySelectorAll("g[id]")) {
    const title = card.querySelector(":scope > title")?.textContent ?? "";
    const end = title.indexOf(": ");
    if (end > 0) {
      card.setAttribute("data-part", title.slice(0, end));
      card.setAttribute("tabindex", "0");
      card.setAttribute("role", "button");
    }
  }
  mark(here);
}

function mark(part: string | null): void {
  here = part;
  for (const card of place.querySelectorAll("g[data-part]")) {
    const is = card.getAttribute("data-part") === part;
    card.toggleAttribute("data-here", is);
    if (is) {
      card.scrollIntoView({ block: "nearest", inline: "nearest" });
    }
  }
}

function chosen(event: Event): void {
  const card = (event.target as Element | null)?.closest("g[data-part]");
  if (card !== null && card !== undefined) {
    event.preventDefault();
    host.postMessage({ part: card.getAttribute("data-part") });
  }
}

place.addEventListener("click", chosen);
place.addEventListener("keydown", (event) => {
  if (event.key === "Enter" || event.key === " ") {
    chosen(event);
  }
});
window.addEventListener("message", (event: MessageEvent<{ svg?: string | null; part?: string | null }>) => {
  if (event.data.svg !== undefined) {
    put(event.data.svg);
  }
  if (event.data.part !== undefined) {
    mark(event.data.part);
  }
});
