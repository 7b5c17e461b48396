// The worker of the desktop's extension host.
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { parentPort, workerData } from "node:worker_threads";
import { type Message, answer, readiness, started } from "./python";

const folder = workerData as string;
const module = pathToFileURL(join(folder, "pyodide", "pyodide.mjs")).href;
const ready = started(module, join(folder, "pyodide"), readFile(join(folder, "lineshaft.zip")).then((bytes) => new Uint8Array(bytes)));
void readiness(ready).then((message) => parentPort?.postMessage(message));

parentPort?.on("message", async (message: Message) => parentPort?.postMessage(await answer(ready, message)));
