// The drawing beside the text: kept in step while somebody types, a card leads to its part and a part to its card.

import { randomBytes } from "node:crypto";
import * as vscode from "vscode";
import type { LanguageClient } from "vscode-languageclient/node";

const QUIET = 120; // milliseconds without a change after which the drawing is made anew

interface Drawn {
  svg: string;
  lines: Record<string, number>;
  version: number;
}

export function isDrawn(document: vscode.TextDocument | undefined): document is vscode.TextDocument {
  return document !== undefined && document.uri.scheme === "file" && /\.(rig|blueprint)\.ya?ml$/.test(document.fileName);
}

export class Drawing implements vscode.Disposable {
  private panel: vscode.WebviewPanel | undefined;
  private uri: vscode.Uri | undefined;
  private lines: Record<string, number> = {};
  private timer: NodeJS.Timeout | undefined;
  private readonly following: vscode.Disposable[];

  constructor(
    private readonly client: () => LanguageClient | undefined,
    private readonly folder: vscode.Uri,
  ) {
    this.following = [
      vscode.workspace.onDidChangeTextDocument((change) => this.changed(change.document)),
      vscode.window.onDidChangeActiveTextEditor((editor) => this.wentTo(editor)),
      vscode.window.onDidChangeTextEditorSelection((change) => this.selected(change.textEditor)),
      vscode.workspace.onDidChangeConfiguration((change) => {
        if (change.affectsConfiguration("lineshaft")) {
          this.soon();
        }
      }),
    ];
  }

  show(document: vscode.TextDocument): void {
    this.uri = document.uri;
    if (this.panel === undefined) {
      const beside = { viewColumn: vscode.ViewColumn.Beside, preserveFocus: true };
      this.panel = vscode.window.createWebviewPanel("lineshaft.drawing", "Drawing", beside, {
        enableScripts: true,
        localResourceRoots: [vscode.Uri.joinPath(this.folder, "dist")],
      });
      this.panel.webview.html = this.page(this.panel.webview);
      this.panel.webview.onDidReceiveMessage((message: unknown) => void this.told(message));
      this.panel.onDidDispose(() => (this.panel = undefined));
    }
    this.soon(0);
  }

  dispose(): void {
    clearTimeout(this.timer);
    this.panel?.dispose();
    vscode.Disposable.from(...this.following).dispose();
  }

  private changed(document: vscode.TextDocument): void {
    // A catalogue's change draws the rig anew as well.
    if (document.uri.toString() === this.uri?.toString() || /\.ya?ml$/.test(document.fileName)) {
      this.soon();
    }
  }

  private wentTo(editor: vscode.TextEditor | undefined): void {
    const follows = vscode.workspace.getConfiguration("lineshaft").get<boolean>("drawingFollows", true);
    if (this.panel !== undefined && follows && isDrawn(editor?.document)) {
      this.uri = editor.document.uri;
      this.soon(0);
    }
  }

  private soon(wait = QUIET): void {
    clearTimeout(this.timer);
    if (this.panel !== undefined) {
      this.timer = setTimeout(() => void this.draw(), wait);
    }
  }

  private async draw(): Promise<void> {
    const uri = this.uri;
    const client = this.client();
    if (uri === undefined || client === undefined) {
      return;
    }
    let drawn: Drawn | null = null;
    try {
      drawn = await client.sendRequest<Drawn | null>("workspace/executeCommand", {
        command: "lineshaft.drawing",
        arguments: [client.code2ProtocolConverter.asUri(uri)],
      });
    } catch {
      // The server is on its way out, or the request was overtaken by a newer one.
    }
    if (this.panel === undefined || this.uri?.toString() !== uri.toString()) {
      return;
    }
    this.panel.title = `Drawing of ${vscode.workspace.asRelativePath(uri)}`;
    this.lines = drawn?.lines ?? {};
    await this.panel.webview.postMessage({ svg: drawn?.svg ?? null });
    this.selected(vscode.window.activeTextEditor);
  }

  /** The card of the part that the cursor is in, marked. */
  private selected(editor: vscode.TextEditor | undefined): void {
    if (this.panel === undefined || editor?.document.uri.toString() !== this.uri?.toString()) {
      return;
    }
    const here = editor?.selection.active.line ?? -1;
    let part: string | null = null;
    let nearest = -1;
    for (const [name, line] of Object.entries(this.lines)) {
      if (line <= here && line > nearest) {
        [part, nearest] = [name, line];
      }
    }
    void this.panel.webview.postMessage({ part });
  }

  /** Go to the part whose card was clicked. */
  private async told(message: unknown): Promise<void> {
    const part = (message as { part?: unknown } | null)?.part;
    const line = typeof part === "string" ? this.lines[part] : undefined;
    if (line === undefined || this.uri === undefined) {
      return;
    }
    const open = vscode.window.visibleTextEditors.find((one) => one.document.uri.toString() === this.uri?.toString());
    const document = await vscode.workspace.openTextDocument(this.uri);
    const start = document.lineAt(Math.min(line, document.lineCount - 1)).firstNonWhitespaceCharacterIndex;
    const place = new vscode.Range(line, start, line, start);
    const column = open?.viewColumn ?? vscode.ViewColumn.One;
    const editor = await vscode.window.showTextDocument(document, { selection: place, viewColumn: column });
    editor.revealRange(place, vscode.TextEditorRevealType.InCenterIfOutsideViewport);
  }

  private page(webview: vscode.Webview): string {
    const nonce = randomBytes(16).toString("hex");
    const script = webview.asWebviewUri(vscode.Uri.joinPath(this.folder, "dist", "page.js"));
    const policy = `default-src 'none'; style-src 'unsafe-inline'; script-src 'nonce-${nonce}'`;
    return `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<title>Drawing</title>
<style>
  body { margin: 0; padding: 0.5rem; }
  #none { font-family: var(--vscode-font-family); color: var(--vscode-descriptionForeground); }
  g[id][data-part] { cursor: pointer; }
  g[data-here] { outline: 3px solid var(--vscode-focusBorder); outline-offset: 5px; }
</style>
</head>
<body>
<p id="none">No drawing: the rig cannot be solved as it is written. The findings say why.</p>
<div id="drawing" role="region" aria-label="Drawing of the rig"></div>
<script nonce="${nonce}" src="${script.toString()}"></script>
</body>
</html>`;
  }
}
