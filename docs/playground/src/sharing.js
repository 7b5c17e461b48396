// All texts in the fragment of a link: nothing of it is sent to any server.

export const MOST = 1500; // characters of a link that mail and chat leave whole
const MOST_UNPACKED = 2_000_000;

export async function packed(texts, active) {
  const bytes = new TextEncoder().encode(JSON.stringify({ files: texts, active }));
  const stream = new Blob([bytes]).stream().pipeThrough(new CompressionStream("deflate-raw"));
  const squeezed = new Uint8Array(await new Response(stream).arrayBuffer());
  const text = Array.from(squeezed, (byte) => String.fromCharCode(byte)).join("");
  return btoa(text).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
}

/** The files of a fragment. Rejects where it holds none, or more than a page should take. */
export async function unpacked(fragment) {
  const text = atob(fragment.replaceAll("-", "+").replaceAll("_", "/"));
  const bytes = Uint8Array.from(text, (one) => one.charCodeAt(0));
  const reader = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw")).getReader();
  const decoder = new TextDecoder();
  let whole = "";
  for (let piece = await reader.read(); !piece.done; piece = await reader.read()) {
    whole += decoder.decode(piece.value, { stream: true });
    if (whole.length > MOST_UNPACKED) throw new Error("more than two million characters");
  }
  return bundle(whole + decoder.decode());
}

/** The files of a bundle that was saved or shared. Throws where it is none. */
export function bundle(text) {
  const { files, active } = JSON.parse(text);
  const entries = Object.entries(files ?? {});
  if (!entries.length || !entries.every(([, one]) => typeof one === "string")) throw new Error("it holds no files");
  return { files: Object.fromEntries(entries), active: String(active) };
}
