// Which lineshaft runs, and the client that speaks to it.

import * as path from "node:path";
import * as vscode from "vscode";
import { LanguageClient, type LanguageClientOptions, type ServerOptions } from "vscode-languageclient/node";

const FILES = "**/*.{rig,blueprint,catalogue,stock,snags}.{yaml,yml}";
const POLICIES = "**/lineshaft.policy.{yaml,yml}";

/** The program: the one that is set on this machine, else that of the chosen Python, else the one on the PATH. */
export async function program(): Promise<string> {
  const set = vscode.workspace.getConfiguration("lineshaft").get<string>("lspPath", "").trim();
  if (set !== "") {
    return set;
  }
  const python = await chosenPython();
  if (python !== undefined) {
    const name = process.platform === "win32" ? "lineshaft.exe" : "lineshaft";
    const beside = vscode.Uri.file(path.join(path.dirname(python), name));
    try {
      await vscode.workspace.fs.stat(beside);
      return beside.fsPath;
    } catch {
      // That Python has no lineshaft.
    }
  }
  return "lineshaft";
}

/** The Python that is chosen in this window, where an extension knows of one. */
async function chosenPython(): Promise<string | undefined> {
  const extension = vscode.extensions.getExtension("ms-python.python");
  if (extension === undefined) {
    return undefined;
  }
  try {
    const api = extension.isActive ? extension.exports : await extension.activate();
    const found: unknown = api?.environments?.getActiveEnvironmentPath?.(vscode.workspace.workspaceFolders?.[0]?.uri)?.path;
    return typeof found === "string" && path.isAbsolute(found) ? found : undefined;
  } catch {
    return undefined;
  }
}

/** A client of the server, not yet started. */
export function clientOf(command: string): LanguageClient {
  const run = { command, args: ["lsp", "--stdio"] };
  const server: ServerOptions = { run, debug: run };
  const options: LanguageClientOptions = {
    documentSelector: [
      { scheme: "file", pattern: FILES },
      { scheme: "file", pattern: POLICIES },
    ],
    initializationOptions: { units: vscode.workspace.getConfiguration("lineshaft").get<string>("units", "si") },
    synchronize: { configurationSection: "lineshaft" },
  };
  return new LanguageClient("lineshaft", "lineshaft", server, options);
}
