// All texts in the fragment of a link: nothing of it is sent to any server.

export const MOST = 1500; // characters of a link that mail and chat leave whole
const MOST_UNPACKED = 2_000_000;

/** The texts, packed; those that `shipped` (texts by name) has just so are named with a digest, and not written out. */
export async function packed(texts, active, shipped) {
  const files = {};
  const named = {};
  for (const [name, text] of Object.entries(texts)) {
    if (shipped[name] === text) named[name] = await digest(text);
    else files[name] = text;
  }
  const bytes = new TextEncoder().encode(JSON.stringify({ files, named, active }));
  const stream = new Blob([bytes]).stream().pipeThrough(new CompressionStream("deflate-raw"));
  const squeezed = new Uint8Array(await new Response(stream).arrayBuffer());
  const text = Array.from(squeezed, (byte) => String.fromCharCode(byte)).join("");
  return btoa(text).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
}

async function digest(text) {
  const bytes = new Uint8Array(await crypto.subtle.digest("SHA-256", new TextEncoder().encode(text)));
  return Array.from(bytes.slice(0, 6), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** The files of a fragment. Rejects where it holds none, more than a page should take, or names what is not shipped. */
export async function unpacked(fragment, shipped) {
  const text = atob(fragment.replaceAll("-", "+").replaceAll("_", "/"));
  const bytes = Uint8Array.from(text, (one) => one.charCodeAt(0));
  const reader = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw")).getReader();
  const decoder = new TextDecoder();
  let whole = "";
  for (let piece = await reader.read(); !piece.done; piece = await reader.read()) {
    whole += decoder.decode(piece.value, { stream: true });
    if (whole.length > MOST_UNPACKED) throw new Error("more than two million characters");
  }
  const { files, named = {}, active } = JSON.parse(whole + decoder.decode());
  for (const [name, wanted] of Object.entries(named)) {
    const text = shipped[name] ?? "";
    if ((await digest(text)) !== wanted) throw new Error(`it was made with another edition of ${name}`);
    files[name] = text;
  }
  return bundle(JSON.stringify({ files, active }));
}

/** The files of a bundle that was saved or shared. Throws where it is none. */
export function bundle(text) {
  const { files, active } = JSON.parse(text);
  const entries = Object.entries(files ?? {});
  if (!entries.length || !entries.every(([, one]) => typeof one === "string")) throw new Error("it holds no files");
  return { files: Object.fromEntries(entries), active: String(active) };
}
