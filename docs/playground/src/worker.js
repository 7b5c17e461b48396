// Runs lineshaft in a thread of its own. Messages: {id, question} in, {id, answer} or {id, fault} out, and {stage, share}
// while it starts.
import { loadPyodide } from "./pyodide/pyodide.mjs";

const tell = (stage, share) => self.postMessage({ stage, share });

// The largest file stands there compressed, whatever the server does about compression.
const fetched = self.fetch.bind(self);
self.fetch = async (address, options) => {
  const url = String(address.url ?? address);
  if (!url.endsWith(".wasm")) return fetched(address, options);
  const packed = await fetched(`${url}.gz`, options);
  if (!packed.ok) return packed;
  const body = packed.body.pipeThrough(new DecompressionStream("gzip"));
  return new Response(body, { headers: { "Content-Type": "application/wasm" } });
};

async function started() {
  tell("fetching Python", 0.1);
  const site = fetched("lineshaft.zip").then((got) => got.arrayBuffer());
  const python = await loadPyodide({ indexURL: new URL("./pyodide/", self.location.href).href });
  tell("unpacking lineshaft", 0.7);
  python.unpackArchive(new Uint8Array(await site), "zip", { extractDir: "/lib/lineshaft" });
  tell("starting lineshaft", 0.85);
  python.runPython('import sys; sys.path.insert(0, "/lib/lineshaft")');
  python.runPython('from pathlib import Path; from bridge import Works, answered; works = Works(Path("/works"))');
  const answered = python.globals.get("answered");
  const works = python.globals.get("works");
  tell("ready", 1);
  return (question) => answered(works, question);
}

const ready = started();
ready.catch((error) => self.postMessage({ failed: String(error) }));

self.onmessage = async ({ data: { id, question } }) => {
  try {
    const answer = (await ready)(JSON.stringify(question));
    self.postMessage({ id, answer: JSON.parse(answer) });
  } catch (error) {
    self.postMessage({ id, fault: String(error.message ?? error).trim().split("\n").pop() });
  }
};
