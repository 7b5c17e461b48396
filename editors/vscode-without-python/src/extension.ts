// Findings while one writes, proved repairs as quick fixes, figures where one points, and the drawing.
import * as vscode from "vscode";
import { type Finding, type Judged, type Shown, diagnosticOf, figureWords, rangeOf } from "./findings";
import { type Line, Lineshaft } from "./python";

const KNOWN = /\.(rig|catalogue|blueprint|policy|stock|snags)\.ya?ml$/;
const DRAWN = /\.(rig|blueprint)\.ya?ml$/;
const FILES = "**/*.{rig,catalogue,blueprint,policy,stock,snags}.{yaml,yml}";
const MOST_FILES = 500;
const PAUSE = 400; // ms after the last key
const SELECTOR: vscode.DocumentSelector = { pattern: FILES };

/** `start` starts a worker. There are two, each with a Python of its own: no verdict waits for a search for repairs. */
export function begin(context: vscode.ExtensionContext, start: () => Line): void {
  const works = new Works(new Lineshaft(start), new Lineshaft(start, "repairs"));
  context.subscriptions.push(
    works,
    vscode.workspace.onDidOpenTextDocument((document) => works.touched(document)),
    vscode.workspace.onDidChangeTextDocument(({ document }) => works.touched(document)),
    vscode.languages.registerCodeActionsProvider(SELECTOR, { provideCodeActions: (document, range) => works.fixes(document, range) }),
    vscode.languages.registerHoverProvider(SELECTOR, { provideHover: (document, at) => works.hover(document, at) }),
    vscode.commands.registerCommand("lineshaftAlone.showDrawing", () => works.draw(vscode.window.activeTextEditor?.document)),
  );
  for (const document of vscode.workspace.textDocuments) works.touched(document);
}

class Works implements vscode.Disposable {
  private readonly shown = vscode.languages.createDiagnosticCollection("lineshaft");
  private texts: Record<string, string> = {};
  private findings: Finding[] = [];
  private timer: ReturnType<typeof setTimeout> | undefined;

  constructor(private readonly lineshaft: Lineshaft, private readonly searcher: Lineshaft) {}

  dispose(): void {
    clearTimeout(this.timer);
    this.shown.dispose();
    this.lineshaft.end();
    this.searcher.end();
  }

  touched(document: vscode.TextDocument): void {
    if (!KNOWN.test(document.uri.path)) return;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.judge(document.uri), PAUSE);
  }

  private async judge(beside: vscode.Uri): Promise<void> {
    try {
      const texts = await textsBeside(beside);
      this.texts = texts;
      const asked = (repairs: boolean) => ({ operation: "judge" as const, files: texts, arguments: { day: today(), repairs } });
      const quick = await this.lineshaft.ask<Judged>("judge", asked(false));
      if (quick && this.texts === texts) this.took(quick, beside);
      if (!quick?.document?.findings.length || this.texts !== texts) return;
      const full = await this.searcher.ask<Judged>("repairs", asked(true));
      if (full && this.texts === texts) this.took(full, beside);
    } catch (error) {
      void vscode.window.showErrorMessage(`lineshaft stopped: ${error instanceof Error ? error.message : error}`);
    }
  }

  private took({ document, err }: Judged, beside: vscode.Uri): void {
    if (!document) {
      void vscode.window.showErrorMessage(err.trim());
      return;
    }
    this.findings = document.findings;
    this.shown.clear();
    for (const [name, text] of Object.entries(this.texts)) {
      const here = document.findings.filter((finding) => finding.file === name);
      this.shown.set(addressOf(name, beside), here.map((finding) => diagnosticOf(text, finding)));
    }
  }

  fixes(document: vscode.TextDocument, range: vscode.Range): vscode.CodeAction[] {
    const name = nameOf(document.uri);
    if (this.texts[name] !== document.getText()) return [];
    const here = this.findings.filter((finding) => finding.file === name && rangeOf(document.getText(), finding).intersection(range));
    return here.flatMap((finding) => finding.repairs.map((repair) => {
      const action = new vscode.CodeAction(`${repair.title} (${repair.effect})`, vscode.CodeActionKind.QuickFix);
      action.edit = new vscode.WorkspaceEdit();
      for (const edit of repair.edits) {
        action.edit.replace(addressOf(edit.file, document.uri), rangeOf(this.texts[edit.file] ?? "", edit), edit.text);
      }
      return action;
    }));
  }

  async hover(document: vscode.TextDocument, at: vscode.Position): Promise<vscode.Hover | undefined> {
    const text = document.getText();
    const found = await this.show(document);
    const part = found?.figures.find((one) => rangeOf(text, one).contains(at));
    if (!part) return undefined;
    const words = new vscode.MarkdownString();
    words.appendCodeblock(figureWords(part), "text");
    return new vscode.Hover(words, rangeOf(text, part));
  }

  async draw(document: vscode.TextDocument | undefined): Promise<void> {
    if (!document || !DRAWN.test(document.uri.path)) return;
    const found = await this.show(document);
    if (!found?.drawing) {
      void vscode.window.showInformationMessage("There is nothing to draw: the file is no rig, or cannot be read.");
      return;
    }
    const panel = vscode.window.createWebviewPanel("lineshaftAlone", `Drawing of ${nameOf(document.uri)}`, vscode.ViewColumn.Beside);
    const policy = "default-src 'none'; img-src data:; style-src 'unsafe-inline'";
    const image = `data:image/svg+xml,${encodeURIComponent(found.drawing)}`;
    panel.webview.html = `<!doctype html><meta http-equiv="Content-Security-Policy" content="${policy}"><img alt="Drawing" style="max-width:100%;background:#fff" src="${image}">`;
  }

  private async show(document: vscode.TextDocument): Promise<Shown | undefined> {
    const files = await textsBeside(document.uri);
    return this.lineshaft.ask<Shown>("show", { operation: "show", files, arguments: { name: nameOf(document.uri), day: today() } });
  }
}

const today = () => new Date().toISOString().slice(0, 10);
const nameOf = (address: vscode.Uri) => vscode.workspace.asRelativePath(address, false).replace(/^\/+/, "").replaceAll("\\", "/");

function addressOf(name: string, beside: vscode.Uri): vscode.Uri {
  const folder = vscode.workspace.getWorkspaceFolder(beside)?.uri;
  return folder ? vscode.Uri.joinPath(folder, name) : beside;
}

/** All files of ours in the folder of a file, those that are open as they stand there. */
async function textsBeside(beside: vscode.Uri): Promise<Record<string, string>> {
  const folder = vscode.workspace.getWorkspaceFolder(beside);
  const open = new Map(vscode.workspace.textDocuments.map((document) => [document.uri.toString(), document.getText()]));
  const found = folder ? await vscode.workspace.findFiles(new vscode.RelativePattern(folder, FILES), "**/node_modules/**", MOST_FILES) : [beside];
  const texts: Record<string, string> = {};
  for (const address of found) {
    texts[nameOf(address)] = open.get(address.toString()) ?? new TextDecoder().decode(await vscode.workspace.fs.readFile(address));
  }
  return texts;
}
