// Where the editor runs in the browser: a worker may come from its own origin only, so its text is handed on.
import * as vscode from "vscode";
import { begin } from "./extension";
import type { Line } from "./python";

export async function activate(context: vscode.ExtensionContext): Promise<void> {
  const at = (path: string) => vscode.Uri.joinPath(context.extensionUri, "dist", path);
  const text = await vscode.workspace.fs.readFile(at("worker-web.mjs"));
  const address = URL.createObjectURL(new Blob([new Uint8Array(text)], { type: "text/javascript" }));
  const start = (): Line => {
    const worker = new Worker(address, { type: "module", name: at("python").toString(true) });
    return {
      post: (message) => worker.postMessage(message),
      onMessage: (heard) => worker.addEventListener("message", ({ data }) => heard(data)),
      onFailure: (heard) => worker.addEventListener("error", ({ message }) => heard(message)),
      end: () => worker.terminate(),
    };
  };
  begin(context, start);
}
