// Building without YAML: a part is chosen from the catalogue and joined to what is there; the text follows.
import { element } from "./elements.js";

const select = (name, values, chosen) =>
  element("select", { id: `build-${name}`, name }, ...values.map((value) =>
    element("option", { value: value.value ?? value, selected: (value.value ?? value) === chosen }, value.label ?? value)));
const field = (label, name, control) => [element("label", { for: `build-${name}` }, label), control];
const text = (name, value, hint) => element("input", { type: "text", id: `build-${name}`, name, value, placeholder: hint, autocomplete: "off" });

/** Two forms: one adds a part, the other changes one, or what drives a placed blueprint. `build(way, name, settings)` writes it and says what stands against it; `last` is what was changed last. */
export function buildingForms(offers, build, last) {
  if (!offers.items.length || !(offers.parts.length || offers.placed.length)) {
    return [element("p", {}, "There is nothing to build on yet: the file is no rig, or cannot be read. Begin with a sample.")];
  }
  return [
    element("h2", {}, "Add a part"), partForm(offers, null, build),
    element("h2", {}, "Change a part"), changeForm(offers, build, last),
  ];
}

function changeForm(offers, build, last) {
  const place = element("div", {});
  const choices = [...offers.parts.map(({ name }) => name), ...offers.placed.map(({ name }) => ({ value: name, label: `${name} (blueprint)` }))];
  const choice = select("part", choices, last);
  const show = () => {
    const part = offers.parts.find(({ name }) => name === choice.value);
    place.replaceChildren(part ? partForm(offers, part, build) : feedForm(offers, offers.placed.find(({ name }) => name === choice.value), build));
  };
  choice.addEventListener("change", show);
  show();
  return element("div", {}, element("p", {}, element("label", { for: "build-part" }, "Part "), choice), place);
}

/** A form that says below its button what stands against it; `told` gives what is written: way, name and settings. */
function formOf(label, button, fields, build, told) {
  const said = element("p", { class: "whole", role: "alert" });
  const made = element("form", { "aria-label": label }, ...fields, element("p", { class: "whole" }, element("button", { class: "chief" }, button)), said);
  made.addEventListener("submit", async (event) => {
    event.preventDefault();
    said.textContent = await build(...told(made));
  });
  return made;
}

/** What drives an inlet: what is driven by it now, nothing, or any outlet that is free. */
function driverSelect(name, offers, now, own) {
  const names = ["", ...new Set([...now.filter(Boolean), ...offers.drivers])].filter((driver) => driver.split(".")[0] !== own);
  return (chosen) => select(name, names.map((driver) => ({ value: driver, label: driver || "nothing" })), chosen);
}

function feedForm(offers, placed, build) {
  const fields = placed.inlets.flatMap(({ name, driver }, inlet) =>
    field(`Driven by, ${name}`, `feed-${inlet}`, driverSelect(`feed-${inlet}`, offers, placed.inlets.map((one) => one.driver), placed.name)(driver)));
  const label = `Change ${placed.name}`;
  if (!fields.length) return element("p", {}, `${placed.name} has no inlet that something could drive.`);
  return formOf(label, label, fields, build, (made) => {
    const values = [...new FormData(made).values()];
    return ["feed", placed.name, Object.fromEntries(placed.inlets.map(({ name }, inlet) => [name, values[inlet]]))];
  });
}

function partForm(offers, part, build) {
  const settings = element("div", { class: "whole" });
  const items = offers.items.map((item) => ({ value: item.name, label: `${item.name} (${item.kind})` }));
  const item = select(part ? "new-item" : "item", items, part?.settings.item);
  const name = part ? null : text("name", "", "north-saw");
  const known = () => offers.items.find((one) => one.name === item.value);
  const show = () => settings.replaceChildren(...settingFields(known(), offers, part));
  item.addEventListener("change", show);
  show();
  const label = part ? `Change ${part.name}` : "Add a part";
  const fields = [...(name ? field("Name", "name", name) : []), ...field("Item", part ? "new-item" : "item", item), settings];
  return formOf(label, part ? label : "Add it", fields, build, (made) =>
    [part ? "change" : "add", part ? part.name : name.value.trim(), { item: item.value, ...chosen(known(), made) }]);
}

function settingFields(item, offers, part) {
  const was = part?.settings ?? {};
  const id = part ? "new-" : "";
  const fields = [];
  const add = (label, name, control) => fields.push(...field(label, `${id}${name}`, control));
  for (let inlet = 0; inlet < item.inlets; inlet++) {
    const label = item.inlets > 1 ? `Driven by, inlet ${inlet + 1}` : "Driven by";
    add(label, `driver-${inlet}`, driverSelect(`${id}driver-${inlet}`, offers, part?.drivers ?? [], part?.name)(part?.drivers[inlet] ?? ""));
  }
  if (item.ratios.length) {
    add("Ratio", "ratio", select(`${id}ratio`, item.ratios, was.ratio));
    add("Direction", "set", select(`${id}set`, [{ value: "reduce", label: "reduce: more torque, less speed" }, { value: "increase", label: "increase: more speed, less torque" }], was.set));
  }
  if (item.grades.length) add("Grade", "grade", select(`${id}grade`, item.grades, was.grade));
  if (item.head) add("Head", "head", text(`${id}head`, was.head ?? "", "4 m"));
  if (item.splits) shareFields(item, part?.shares ?? {}, id, add);
  return [element("div", { class: "fields" }, ...fields)];
}

/** The outlets by name, and what share of the torque each gets: as the item comes, or in any numbers. */
function shareFields(item, shares, id, add) {
  const were = Object.keys(shares);
  const count = item.outlets || were.length || 2;
  const names = Array.from({ length: count }, (_, n) => were[n] ?? `way-${n + 1}`);
  const weights = names.map((name) => shares[name] ?? 1).join(" : ");
  add("Outlets", "outlets", text(`${id}outlets`, names.join(", "), "saws, yard"));
  const rows = item.shares.filter((row) => row.split(":").length === count);
  if (!rows.length) add("Shares", "weights", text(`${id}weights`, weights, "3 : 5"));
  else add("Shares", "weights", select(`${id}weights`, were.length === count && !rows.includes(weights) ? [weights, ...rows] : rows, weights));
}

function chosen(item, made) {
  const values = Object.fromEntries([...new FormData(made)].map(([name, value]) => [name.replace(/^new-/, ""), String(value).trim()]));
  const drivers = Array.from({ length: item.inlets }, (_, inlet) => values[`driver-${inlet}`]).filter(Boolean);
  const settings = {};
  if (drivers.length === 1 && item.inlets === 1) [settings["driven-by"]] = drivers;
  else if (drivers.length) settings["driven-by"] = `[${drivers.join(", ")}]`;
  else settings["driven-by"] = "";
  for (const name of ["ratio", "set", "grade", "head", "outlets", "weights"]) settings[name] = values[name] ?? "";
  return settings;
}
