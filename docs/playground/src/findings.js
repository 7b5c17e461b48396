// What is wrong, the worst first: where, why, and the repairs that are proved, each to be tried.
import { element } from "./elements.js";

const WEIGHT = { error: 0, warning: 1, note: 2 };

export function headline(summary) {
  const count = (number, word) => `${number} ${word}${number === 1 ? "" : "s"}`;
  return [count(summary.errors, "error"), count(summary.warnings, "warning"), count(summary.notes, "note")].join(", ");
}

export const said = (finding) => (finding.part ? `${finding.part} ${finding.message}` : finding.message);

export function cost(repair) {
  if (!repair.worth) return "costs the same";
  const figure = Number(Math.abs(repair.worth).toPrecision(6));
  return repair.worth > 0 ? `costs ${figure} more` : `costs ${figure} less`;
}

/** What a repair adds to the bill, and what it does to each machine. */
export function effect(repair) {
  const figure = (value) => String(Number(value.toPrecision(4)));
  const goods = Object.entries(repair.bill).map(([name, count]) => `${count > 0 ? "+" : ""}${count} ${name}`);
  const fares = (rate, state) => (rate === null ? state.replace("-", " ") : rate === 0 ? "stalled" : `${figure(rate)} an hour`);
  const before = (one) => fares(one.rate_before, one.state_before);
  const after = (one) => fares(one.rate_after, one.state_after);
  const machines = repair.machines.map((one) => `${one.part}: ${before(one)} before, ${after(one)} after`);
  return [goods.join(", "), ...machines].filter(Boolean).join("; ");
}

/** The findings as a list; `go(file, span)` shows a place, `attempt(finding, repair)` tries a repair. */
export function findingList(document, { go, attempt, searching }) {
  const sorted = [...document.findings].sort((one, other) => passes(one) - passes(other) || WEIGHT[one.level] - WEIGHT[other.level]);
  if (!sorted.length) return [element("p", {}, "Nothing is wrong: every limit holds, and every machine gets what it needs.")];
  return sorted.map((finding) => findingCard(finding, { go, attempt, searching }));
}

const passes = (finding) => Number(Boolean(finding.waived || finding.snag));

function findingCard(finding, { go, attempt, searching }) {
  const place = (file, span) =>
    element("button", { class: "place", onclick: () => go(file, span) }, `${file}:${span.start.line}:${span.start.column}`);
  const since = (finding.because ?? []).map((cause) =>
    element("li", {}, `${cause.part ? `${cause.part} ` : ""}${cause.message} `, place(cause.file, cause)));
  return element("article", { class: `finding ${finding.level}` },
    element("h2", {}, element("span", { class: "level" }, `${finding.level}${passes(finding) ? ", accepted" : ""}: `), said(finding)),
    element("p", {}, place(finding.file, finding), ` ${finding.rule}`),
    since.length ? element("ul", { "aria-label": "since" }, ...since) : null,
    finding.suggestion ? element("p", {}, `Mend: ${finding.suggestion}`) : null,
    ...(finding.repairs ?? []).map((repair) => repairLine(finding, repair, attempt)),
    searching ? element("p", {}, "Looking for repairs…") : null,
    !searching && !finding.repairs?.length && finding.no_repair ? element("p", {}, `No repair is proved: ${finding.no_repair}`) : null);
}

function repairLine(finding, repair, attempt) {
  return element("div", { class: "repair" },
    element("button", { onclick: () => attempt(finding, repair), "aria-label": `Try: ${repair.title}` }, "Try"),
    element("span", {}, `${repair.title} (${repair.effect}), ${cost(repair)}${effect(repair) ? `: ${effect(repair)}` : ""}`));
}
