// The worker of an editor that runs in the browser; its name is the address of the extension's Python.
import { type Message, answer, readiness, started } from "./python";

const folder = self.name;
const site = fetch(`${folder}/lineshaft.zip`).then(async (got) => new Uint8Array(await got.arrayBuffer()));
const ready = started(`${folder}/pyodide/pyodide.mjs`, `${folder}/pyodide/`, site);
void readiness(ready).then((message) => self.postMessage(message));

self.onmessage = async ({ data }: MessageEvent<Message>) => self.postMessage(await answer(ready, data));
