// Starts the language server in a workspace that is trusted, and offers its drawing and the expanded rig.

import * as vscode from "vscode";
import type { LanguageClient } from "vscode-languageclient/node";
import { Drawing, isDrawn } from "./drawing";
import { clientOf, program } from "./server";

const EXPANDED = "lineshaft-expanded";
let client: LanguageClient | undefined;

export async function activate(context: vscode.ExtensionContext): Promise<void> {
  const drawing = new Drawing(() => client, context.extensionUri);
  context.subscriptions.push(
    drawing,
    vscode.workspace.registerTextDocumentContentProvider(EXPANDED, { provideTextDocumentContent: expanded }),
    vscode.commands.registerCommand("lineshaft.restart", start),
    vscode.commands.registerCommand("lineshaft.showDrawing", () => {
      const document = vscode.window.activeTextEditor?.document;
      if (isDrawn(document)) {
        drawing.show(document);
      }
    }),
    vscode.commands.registerCommand("lineshaft.showExpanded", async () => {
      const document = vscode.window.activeTextEditor?.document;
      if (isDrawn(document)) {
        const address = vscode.Uri.from({ scheme: EXPANDED, path: document.uri.path, query: document.uri.toString() });
        const shown = await vscode.workspace.openTextDocument(address);
        await vscode.window.showTextDocument(shown, vscode.ViewColumn.Beside, true);
      }
    }),
    vscode.workspace.onDidGrantWorkspaceTrust(start),
  );
  await start();
}

export async function deactivate(): Promise<void> {
  await client?.stop();
}

async function start(): Promise<void> {
  await client?.stop();
  client = undefined;
  if (!vscode.workspace.isTrusted) {
    return;
  }
  const command = await program();
  const started = clientOf(command);
  try {
    await started.start();
    client = started;
  } catch {
    const settings = "Open the setting";
    const chosen = await vscode.window.showErrorMessage(
      `${command} lsp could not be started. Install it with: pip install 'lineshaft[editor]', or set lineshaft.lspPath.`,
      settings,
    );
    if (chosen === settings) {
      await vscode.commands.executeCommand("workbench.action.openSettings", "lineshaft.lspPath");
    }
  }
}

async function expanded(address: vscode.Uri): Promise<string> {
  const uri = vscode.Uri.parse(address.query);
  const text = await client?.sendRequest<string | null>("workspace/executeCommand", {
    command: "lineshaft.expanded",
    arguments: [client.code2ProtocolConverter.asUri(uri)],
  });
  return text ?? "# Nothing could be solved: the findings on the rig say why.\n";
}
