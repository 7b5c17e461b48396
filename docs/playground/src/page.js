// The page: what is open on one side, what lineshaft says of it on the other.
import { buildingForms } from "./building.js";
import { byId, element, offered } from "./elements.js";
import { Editor } from "./editor.js";
import { figureAt, figureTable } from "./figures.js";
import { cost, effect, findingList, headline, said } from "./findings.js";
import { Judge } from "./judge.js";
import { changesOf, rangeOf } from "./places.js";
import { showTabs } from "./tabs.js";
import { bundle, unpacked } from "./sharing.js";
import { newDialog, openFiles, saveDialog, shareDialog } from "./files.js";
import { Workspace } from "./workspace.js";

const today = new URLSearchParams(location.search).get("date") ?? new Date().toISOString().slice(0, 10);
const NOTHING = { items: [], drivers: [], parts: [], placed: [] };
const now = { document: null, figures: [], drawing: "", offers: null, tried: null, ready: 0 };
const editor = new Editor(byId("editor"), {
  onChange: () => changed(),
  figureAt: (at, doc) => (works.active === works.drawn ? figureAt(now.figures, at, doc) : null),
});
const works = new Workspace((text) => editor.stateOf(text));
const tabs = showTabs();
// Two, each with a Python of its own: a search for repairs may take long, and a verdict does not wait for it.
const judge = new Judge({ onStage: staged });
const searcher = new Judge({ left: "repairs" });
let timer = 0;

function keepText() {
  if (works.active) works.states.set(works.active, editor.view.state);
}

function changed() {
  keepText();
  clearTimeout(timer);
  timer = setTimeout(judgeAll, 350);
}

function choose(name) {
  keepText();
  const drawn = works.drawn;
  works.choose(name);
  showActive();
  if (works.drawn !== drawn) showDrawn();
}

function showActive() {
  editor.show(works.states.get(works.active) ?? editor.stateOf(""));
  const files = works.names.map((name) => element("button", { "aria-current": String(name === works.active), onclick: () => choose(name) }, name));
  const more = element("button", { onclick: () => newDialog(begin) }, "New file…");
  const less = element("button", { onclick: remove, disabled: works.names.length < 2 }, "Remove");
  byId("files").replaceChildren(...files, more, less);
  mark();
}

function open({ files, active }) {
  works.replace(files, active);
  forgetTried();
  Object.assign(now, { document: null, figures: [], drawing: "" });
  showActive();
  return judgeAll();
}

async function judgeAll() {
  keepText();
  const texts = works.texts;
  if (!works.names.length) return;
  if (now.ready) status("", "judging…");
  const asked = performance.now();
  try {
    const quick = await judge.ask("judge", "judge", texts, { day: today, repairs: false });
    if (!quick) return;
    const waited = performance.now() - Math.max(asked, now.ready);
    took(quick, true, waited);
    await showDrawn();
    if (!quick.document?.findings.length) return;
    const full = await searcher.ask("repairs", "judge", texts, { day: today, repairs: true });
    if (full && JSON.stringify(texts) === JSON.stringify(works.texts)) took(full, false, waited);
  } catch (error) {
    status("bad", `lineshaft stopped: ${error.message}`);
  }
}

function took({ document, err }, searching, milliseconds) {
  now.document = document;
  const seconds = `${(milliseconds / 1000).toFixed(2)} s`;
  if (!document) {
    status("bad", err.trim());
    return;
  }
  const { errors } = document.summary;
  status(errors ? "bad" : "good", `${errors ? "It does not hold" : "It holds"}: ${headline(document.summary)} (${seconds})`);
  byId("findings").replaceChildren(...findingList(document, { go, attempt, searching: searching && document.findings.length > 0 }));
  mark();
  showTried();
}

async function showDrawn() {
  if (!works.drawn) return drew({ drawing: "", figures: [], offers: NOTHING });
  const found = await judge.ask("show", "show", works.texts, { name: works.drawn, day: today });
  if (found) drew(found);
}

function drew({ drawing, figures, offers }) {
  Object.assign(now, { drawing, figures });
  // A form that somebody is filling in stays, unless what it offers has changed.
  if (JSON.stringify(offers) !== JSON.stringify(now.offers)) byId("building").replaceChildren(...buildingForms(offers, build, now.part));
  now.offers = offers;
  byId("figures").replaceChildren(figureTable(figures, (part) => go(works.drawn, part)));
  const before = now.tried?.drawing;
  byId("drawing").replaceChildren(...(before && before !== drawing
    ? [element("div", { class: "compared" }, picture(before, "Before"), picture(drawing, "After"))]
    : [picture(drawing, "")]));
}

function picture(svg, title) {
  if (!svg) return element("p", {}, "There is nothing to draw: the file is no rig, or cannot be read.");
  const address = URL.createObjectURL(new Blob([svg], { type: "image/svg+xml" }));
  const image = element("img", { src: address, alt: `Drawing of ${works.drawn}${title ? `, ${title.toLowerCase()}` : ""}` });
  image.addEventListener("load", () => URL.revokeObjectURL(address));
  return element("figure", { style: "margin:0" }, title ? element("figcaption", {}, title) : null, image);
}

function mark() {
  const findings = (now.document?.findings ?? []).filter((finding) => finding.file === works.active);
  const doc = editor.view.state.doc;
  editor.mark(findings.map((finding) => ({
    ...rangeOf(doc, finding),
    severity: finding.waived || finding.snag ? "hint" : { error: "error", warning: "warning", note: "info" }[finding.level],
    message: finding.suggestion ? `${said(finding)}\n${finding.suggestion}` : said(finding),
    source: finding.rule,
    actions: (finding.repairs ?? []).map((repair) => ({ name: repair.title, apply: () => attempt(finding, repair) })),
  })));
}

function go(file, span) {
  if (!works.states.has(file)) return;
  if (file !== works.active) choose(file);
  if (tabs.narrow()) tabs.choose("text");
  editor.go(rangeOf(editor.view.state.doc, span));
}

function attempt(finding, repair) {
  keepText();
  forgetTried();
  now.tried = { title: [`${repair.title}, ${cost(repair)}`, effect(repair)].filter(Boolean).join("; "), texts: works.texts, summary: now.document.summary, drawing: now.drawing };
  write(repair.edits);
  return finding;
}

function write(edits) {
  for (const [file, some] of grouped(edits)) works.change(file, changesOf(works.states.get(file).doc, some));
  showActive();
  changed();
}

/** Writes what a form says; resolves to what stands against it. */
async function build(way, part, settings) {
  keepText();
  const texts = works.texts;
  const answer = await judge.ask("build", "build", texts, { name: works.drawn, part, settings, way });
  if (!answer) return "";
  if (answer.refused) return answer.refused;
  keepText();
  if (JSON.stringify(texts) !== JSON.stringify(works.texts)) return "the text has changed meanwhile: try again";
  now.part = part;
  write(answer.edits);
  return "";
}

async function begin(kind, name) {
  keepText();
  const { text, refused } = await judge.ask("begin", "begin", works.texts, { kind, name });
  if (refused) return refused;
  works.put(name, text);
  choose(name);
  changed();
  return "";
}

function remove() {
  works.remove(works.active);
  showActive();
  showDrawn();
  changed();
}

function grouped(edits) {
  const files = new Map();
  for (const edit of edits) files.set(edit.file, [...(files.get(edit.file) ?? []), edit]);
  return files;
}

function showTried() {
  if (!now.tried || !now.document) return;
  const { title, summary, texts } = now.tried;
  byId("tried").replaceChildren(
    element("span", {}, `Tried: ${title}. Before: ${headline(summary)}. Now: ${headline(now.document.summary)}.`),
    element("button", { onclick: () => undo(texts) }, "Undo"),
    element("button", { onclick: () => { forgetTried(); drew(now); } }, "Keep"));
  byId("tried").hidden = false;
}

function undo(texts) {
  const active = works.active;
  const drawn = works.drawn;
  works.replace(texts, active);
  works.drawn = drawn;
  forgetTried();
  showActive();
  judgeAll();
}

function forgetTried() {
  now.tried = null;
  byId("tried").hidden = true;
}

function status(kind, words) {
  byId("status").className = kind;
  byId("said").textContent = words;
}

async function report(kind) {
  const day = ["--date", today];
  const words = kind === "svg" ? ["draw", ...day, works.drawn] : ["check", "--no-cache", "--jobs", "1", ...day, "--write", `${kind}=-`, "."];
  keepText();
  const judges = kind === "svg" || !now.document?.findings.length ? judge : searcher;
  const answer = await judges.ask(`report ${kind}`, "run", works.texts, { words });
  if (!answer) return undefined;
  const { out, err } = answer;
  if (!out) return status("bad", err.trim());
  const types = { html: "text/html", svg: "image/svg+xml", markdown: "text/markdown" };
  return offered(`lineshaft.${{ markdown: "md", sarif: "sarif.json" }[kind] ?? kind}`, out, types[kind] ?? "application/json");
}

function staged({ stage, share, failed }) {
  if (failed) {
    byId("progress").hidden = true; // who asked says what went wrong
  } else if (share < 1) {
    byId("progress").value = share;
    status("", `${stage}… Nothing of what you write leaves this page.`);
  } else {
    byId("progress").hidden = true;
    now.ready = performance.now();
    document.body.dataset.ready = String(Math.round(now.ready)); // ms from the address to the first verdict
  }
}

function dark(on) {
  document.documentElement.dataset.theme = on ? "dark" : "light";
  byId("theme").setAttribute("aria-pressed", String(on));
}

async function start() {
  dark(matchMedia("(prefers-color-scheme: dark)").matches);
  byId("theme").onclick = () => dark(document.documentElement.dataset.theme !== "dark");
  const samples = await (await fetch("samples.json")).json();
  const shipped = Object.assign({}, ...samples.map(({ files }) => files));
  const choices = samples.map(({ name }, number) => element("option", { value: number }, name));
  byId("samples").replaceChildren(element("option", { value: "" }, "choose…"), ...choices);
  byId("samples").onchange = () => byId("samples").value && open(samples[byId("samples").value]);
  byId("open").onclick = () => byId("chosen").click();
  byId("chosen").onchange = async () => {
    const found = await openFiles(byId("chosen").files, works.texts, bundle);
    byId("chosen").value = byId("samples").value = "";
    if (found.refused) status("bad", found.refused);
    else open(found);
  };
  byId("save").onclick = () => (keepText(), saveDialog(works));
  byId("share").onclick = () => (keepText(), shareDialog(works, shipped));
  byId("report").onchange = () => {
    const kind = byId("report").value;
    byId("report").value = "";
    if (kind) report(kind);
  };
  const first = Math.max(0, samples.findIndex(({ name }) => name === "Overloaded step"));
  const given = await shared(shipped);
  byId("samples").value = given ? "" : String(first);
  await open(given ?? samples[first]);
}

async function shared(shipped) {
  if (!location.hash.startsWith("#t=")) return null;
  try {
    return await unpacked(location.hash.slice(3), shipped);
  } catch (error) {
    status("bad", `The link holds no files that can be read: ${error.message}`);
    return null;
  }
}

if (location.protocol === "file:") {
  status("bad", "A browser starts no worker from a file. In this folder run `python3 -m http.server` and open http://localhost:8000.");
} else {
  start();
  navigator.serviceWorker?.register("service-worker.js", { type: "module" }).catch(() => {});
}
