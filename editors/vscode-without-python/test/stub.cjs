// As much of the editor as the extension asks for: one folder with some files, and what the extension gives back.
const { readFileSync } = require("node:fs");
const { join } = require("node:path");

class Position { constructor(line, character) { Object.assign(this, { line, character }); } }
class Range {
  constructor(start, end) { Object.assign(this, { start, end }); }
  contains(at) { return after(at, this.start) >= 0 && after(this.end, at) >= 0; }
  intersection(other) { return after(this.end, other.start) >= 0 && after(other.end, this.start) >= 0 ? this : undefined; }
}
const after = (one, other) => one.line - other.line || one.character - other.character;
const uri = (path) => ({ path, fsPath: path, toString: () => `file://${path}` });

exports.editor = (folder, names, extension) => {
  const given = { diagnostics: new Map(), providers: {}, commands: {}, errors: [], panels: [] };
  const documents = names.map((name) => ({ uri: uri(join(folder, name)), getText: () => readFileSync(join(folder, name), "utf8") }));
  const nothing = () => ({ dispose() {} });
  given.context = { subscriptions: [], extensionUri: uri(extension) };
  given.documents = documents;
  given.vscode = {
    Position, Range,
    Diagnostic: class { constructor(range, message, severity) { Object.assign(this, { range, message, severity }); } },
    DiagnosticSeverity: { Error: 0, Warning: 1, Information: 2, Hint: 3 },
    CodeAction: class { constructor(title, kind) { Object.assign(this, { title, kind }); } },
    CodeActionKind: { QuickFix: "quickfix" },
    WorkspaceEdit: class { constructor() { this.edits = []; } replace(at, range, text) { this.edits.push({ path: at.path, range, text }); } },
    MarkdownString: class { appendCodeblock(text) { this.value = text; } },
    Hover: class { constructor(contents, range) { Object.assign(this, { contents, range }); } },
    RelativePattern: class {}, ViewColumn: { Beside: -2 },
    Uri: { joinPath: (base, ...parts) => uri(join(base.path, ...parts)) },
    workspace: {
      textDocuments: documents, onDidOpenTextDocument: nothing, onDidChangeTextDocument: nothing,
      asRelativePath: (address) => address.path.slice(folder.length + 1), getWorkspaceFolder: () => ({ uri: uri(folder) }),
      findFiles: async () => documents.map((document) => document.uri), fs: { readFile: async (address) => readFileSync(address.path) },
    },
    languages: {
      createDiagnosticCollection: () => ({ set: (at, found) => given.diagnostics.set(at.path, found), clear: () => given.diagnostics.clear(), dispose() {} }),
      registerCodeActionsProvider: (_, provider) => { given.providers.fixes = provider; return nothing(); },
      registerHoverProvider: (_, provider) => { given.providers.hover = provider; return nothing(); },
    },
    commands: { registerCommand: (name, run) => { given.commands[name] = run; return nothing(); } },
    window: {
      activeTextEditor: { document: documents[0] }, showErrorMessage: (words) => given.errors.push(words), showInformationMessage: (words) => given.errors.push(words),
      createWebviewPanel: () => { const panel = { webview: {} }; given.panels.push(panel); return panel; },
    },
  };
  return given;
};
