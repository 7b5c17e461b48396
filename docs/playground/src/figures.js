// What each part carries: as a table, and where one points in the text.
import { element } from "./elements.js";
import { rangeOf } from "./places.js";

export function figureTable(figures, go) {
  if (!figures.length) return element("p", {}, "There is nothing to show yet: the file is no rig, or cannot be read.");
  const head = ["part", "item", "share of limit", "in", "out", "power", "makes"].map((word) => element("th", { scope: "col" }, word));
  const rows = figures.map((part) => element("tr", {},
    element("td", {}, element("button", { class: "place", onclick: () => go(part) }, part.name)),
    element("td", {}, part.item),
    ...(part.solved ? loads(part) : [element("td", { colspan: 5 }, "not solved: a finding stands above it")])));
  return element("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": "Figures of each part" },
    element("table", {}, element("thead", {}, element("tr", {}, ...head)), element("tbody", {}, ...rows)));
}

function loads(part) {
  const [first] = part.limits;
  const share = first ? `${first.share} of ${first.limit}${first.over ? ": over" : ""}` : "no limit";
  const figures = [part.in ?? "", part.out ?? "", part.power, part.rate].map((text) => element("td", {}, text));
  return [element("td", first?.over ? { class: "over" } : {}, share), ...figures];
}

/** What is shown where one points at a part's name; null elsewhere. */
export function figureAt(figures, at, doc) {
  for (const part of figures) {
    const { from, to } = rangeOf(doc, part);
    if (from <= at && at <= to) return { from, to, dom: hover(part) };
  }
  return null;
}

function hover(part) {
  const lines = part.solved
    ? [part.in && `in ${part.in}`, part.out && `out ${part.out}`, part.power, ...part.limits.map((one) => `${one.of} limit ${one.limit}: ${one.share}${one.over ? ", over" : ""}`), part.rate]
    : ["not solved"];
  return element("div", { class: "hover" }, element("strong", {}, `${part.name}: ${part.item}`),
    ...lines.filter(Boolean).map((line) => element("div", {}, line)));
}
