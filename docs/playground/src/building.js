// Building without YAML: a part is chosen from the catalogue and joined to what is there; the text follows.
import { element } from "./elements.js";

const select = (name, values, chosen) =>
  element("select", { id: `build-${name}`, name }, ...values.map((value) =>
    element("option", { value: value.value ?? value, selected: (value.value ?? value) === chosen }, value.label ?? value)));
const field = (label, name, control) => [element("label", { for: `build-${name}` }, label), control];
const text = (name, value, hint) => element("input", { type: "text", id: `build-${name}`, name, value, placeholder: hint, autocomplete: "off" });

/** Two forms: one adds a part, the other changes one. `build(new, name, settings)` writes it and says what stands against it; `last` is the part that was changed last. */
export function buildingForms(offers, build, last) {
  if (!offers.items.length || !offers.parts.length) {
    return [element("p", {}, "There is nothing to build on yet: the file is no rig, or cannot be read. Begin with a sample.")];
  }
  return [
    element("h2", {}, "Add a part"), form(offers, null, build),
    element("h2", {}, "Change a part"), changeForm(offers, build, last),
  ];
}

function changeForm(offers, build, last) {
  const place = element("div", {});
  const choice = select("part", offers.parts.map((part) => part.name), last);
  const show = () => place.replaceChildren(form(offers, offers.parts.find((part) => part.name === choice.value), build));
  choice.addEventListener("change", show);
  show();
  return element("div", {}, element("p", {}, element("label", { for: "build-part" }, "Part "), choice), place);
}

function form(offers, part, build) {
  const settings = element("div", { class: "whole" });
  const items = offers.items.map((item) => ({ value: item.name, label: `${item.name} (${item.kind})` }));
  const item = select(part ? "new-item" : "item", items, part?.settings.item);
  const said = element("p", { class: "whole", role: "alert" });
  const name = part ? null : text("name", "", "north-saw");
  const known = () => offers.items.find((one) => one.name === item.value);
  const show = () => settings.replaceChildren(...settingFields(known(), offers, part));
  item.addEventListener("change", show);
  const made = element("form", { "aria-label": part ? `Change ${part.name}` : "Add a part" },
    ...(name ? field("Name", "name", name) : []), ...field("Item", part ? "new-item" : "item", item), settings,
    element("p", { class: "whole" }, element("button", { class: "chief" }, part ? `Change ${part.name}` : "Add it")), said);
  made.addEventListener("submit", async (event) => {
    event.preventDefault();
    said.textContent = await build(!part, part ? part.name : name.value.trim(), { item: item.value, ...chosen(known(), made) }) ?? "";
  });
  show();
  return made;
}

function settingFields(item, offers, part) {
  const was = part?.settings ?? {};
  const id = part ? "new-" : "";
  const fields = [];
  const add = (label, name, control) => fields.push(...field(label, `${id}${name}`, control));
  const drivers = ["", ...new Set([...(part?.drivers ?? []), ...offers.drivers])].filter((name) => !part || name.split(".")[0] !== part.name);
  for (let inlet = 0; inlet < item.inlets; inlet++) {
    const label = item.inlets > 1 ? `Driven by, inlet ${inlet + 1}` : "Driven by";
    add(label, `driver-${inlet}`, select(`${id}driver-${inlet}`, drivers.map((name) => ({ value: name, label: name || "nothing" })), part?.drivers[inlet] ?? ""));
  }
  if (item.ratios.length) {
    add("Ratio", "ratio", select(`${id}ratio`, item.ratios, was.ratio));
    add("Direction", "set", select(`${id}set`, [{ value: "reduce", label: "reduce: more torque, less speed" }, { value: "increase", label: "increase: more speed, less torque" }], was.set));
  }
  if (item.grades.length) add("Grade", "grade", select(`${id}grade`, item.grades, was.grade));
  if (item.head) add("Head", "head", text(`${id}head`, was.head ?? "", "4 m"));
  if (item.outlets && !part) {
    add("Outlets", "outlets", text("outlets", Array.from({ length: item.outlets }, (_, n) => `way-${n + 1}`).join(", "), ""));
    if (item.shares.length) add("Shares", "weights", select("weights", item.shares));
    else add("Shares", "weights", text("weights", Array(item.outlets).fill(1).join(" : "), ""));
  }
  return [element("div", { class: "fields" }, ...fields)];
}

function chosen(item, made) {
  const values = Object.fromEntries([...new FormData(made)].map(([name, value]) => [name.replace(/^new-/, ""), String(value).trim()]));
  const drivers = Array.from({ length: item.inlets }, (_, inlet) => values[`driver-${inlet}`]).filter(Boolean);
  const settings = {};
  if (drivers.length === 1 && item.inlets === 1) [settings["driven-by"]] = drivers;
  else if (drivers.length) settings["driven-by"] = `[${drivers.join(", ")}]`;
  else if (item.inlets === 1) settings["driven-by"] = "";
  for (const name of ["ratio", "set", "grade", "head"]) settings[name] = values[name] ?? "";
  if (values.outlets) {
    const weights = values.weights.split(":").map((weight) => weight.trim());
    const names = values.outlets.split(",").map((name) => name.trim());
    settings.shares = `{${names.map((name, at) => `${name}: ${weights[at] ?? 1}`).join(", ")}}`;
  }
  return settings;
}
