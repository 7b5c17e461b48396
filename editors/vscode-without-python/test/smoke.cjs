// Runs the desktop's half outside an editor: node test/smoke.cjs FOLDER FILE... ; what it gave, as JSON.
const Module = require("node:module");
const { join } = require("node:path");
const { editor } = require("./stub.cjs");

const [folder, ...names] = process.argv.slice(2);
const given = editor(folder, names, join(__dirname, ".."));
const load = Module._load;
Module._load = (name, ...rest) => (name === "vscode" ? given.vscode : load(name, ...rest));
const { activate } = require("../dist/extension-node.cjs");

async function main() {
  activate(given.context);
  const [document] = given.documents;
  let fixes = [];
  for (let tries = 0; tries < 1700 && !fixes.length && !given.errors.length; tries++) {
    await new Promise((go) => setTimeout(go, 100));
    const [first] = given.diagnostics.get(document.uri.path) ?? [];
    fixes = first ? given.providers.fixes.provideCodeActions(document, first.range) : [];
  }
  const [first] = given.diagnostics.get(document.uri.path) ?? [];
  const hover = first && (await given.providers.hover.provideHover(document, first.range.start));
  await given.commands["lineshaftAlone.showDrawing"]();
  const drawn = given.panels.map((panel) => decodeURIComponent(panel.webview.html.split("image/svg+xml,")[1].split('"')[0]));
  const found = (given.diagnostics.get(document.uri.path) ?? []).map(({ code, message, range, severity }) => ({ code, message, range, severity }));
  console.log(JSON.stringify({ found, fixes: fixes.map(({ title, edit }) => ({ title, edits: edit.edits })), hover: hover?.contents.value, drawn, errors: given.errors }));
  for (const one of given.context.subscriptions) one.dispose();
}
main();
