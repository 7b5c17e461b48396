// Where the editor runs on a desktop, or on a server.
import { Worker } from "node:worker_threads";
import * as vscode from "vscode";
import { begin } from "./extension";
import type { Line } from "./python";

export function activate(context: vscode.ExtensionContext): void {
  const at = (path: string) => vscode.Uri.joinPath(context.extensionUri, "dist", path).fsPath;
  const start = (): Line => {
    const worker = new Worker(at("worker-node.mjs"), { workerData: at("python") });
    return {
      post: (message) => worker.postMessage(message),
      onMessage: (heard) => void worker.on("message", heard),
      onFailure: (heard) => void worker.on("error", (error) => heard(String(error))),
      end: () => void worker.terminate(),
    };
  };
  begin(context, start);
}
