// Local files in and out, and links.
import { element, offered } from "./elements.js";
import { MOST, packed } from "./sharing.js";
import { KNOWN } from "./workspace.js";

const MOST_BYTES = 8 * 1024 * 1024;

/** The files that were chosen beside those that are open; a bundle replaces them. */
export async function openFiles(chosen, texts, bundle) {
  const files = { ...texts };
  let active = "";
  for (const file of chosen) {
    if (file.size > MOST_BYTES) return { refused: `${file.name} is larger than 8 MiB` };
    const text = await file.text();
    if (file.name.endsWith(".json")) {
      try {
        return bundle(text);
      } catch (error) {
        return { refused: `${file.name} is no bundle that was saved here: ${error.message}` };
      }
    }
    if (!KNOWN.test(file.name)) return { refused: `${file.name}: call it *.rig.yaml, *.catalogue.yaml, *.blueprint.yaml, *.policy.yaml or *.stock.yaml` };
    const there = Object.keys(files).find((name) => name.split("/").pop() === file.name);
    active = there ?? file.name;
    files[active] = text;
  }
  return { files, active };
}

function dialog(title, ...children) {
  const box = element("dialog", { "aria-label": title }, element("h2", {}, title), ...children,
    element("p", {}, element("button", { onclick: () => box.close() }, "Close")));
  box.addEventListener("close", () => box.remove());
  document.body.append(box);
  box.showModal();
  return box;
}

const FIRST = { rig: "first.rig.yaml", catalogue: "works.catalogue.yaml", blueprint: "leg.blueprint.yaml", policy: "lineshaft.policy.yaml", stock: "yard.stock.yaml" };

/** Asks for a kind and a name; `begin(kind, name)` makes the file and says what stands against it. */
export function newDialog(begin) {
  const kind = element("select", { id: "new-kind" }, ...Object.keys(FIRST).map((one) => element("option", {}, one)));
  const name = element("input", { type: "text", id: "new-name", value: FIRST.rig });
  const said = element("p", { role: "alert", class: "whole" });
  kind.addEventListener("change", () => { name.value = FIRST[kind.value]; });
  const form = element("form", {}, element("label", { for: "new-kind" }, "Kind"), kind, element("label", { for: "new-name" }, "Name"), name,
    element("p", { class: "whole" }, element("button", { class: "chief" }, "Make it")), said);
  const box = dialog("New file", form);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    said.textContent = await begin(kind.value, name.value.trim());
    if (!said.textContent) box.close();
  });
}

function keepAll(works) {
  offered("lineshaft-files.json", JSON.stringify({ files: works.texts, active: works.active }), "application/json");
}

export function saveDialog(works) {
  const single = (name) => element("li", {}, element("button", { onclick: () => offered(name.split("/").pop(), works.texts[name], "text/yaml") }, name));
  dialog("Save", element("p", {}, "Files are kept by your browser, where it keeps downloads."),
    element("ul", {}, ...works.names.map(single)),
    element("p", {}, element("button", { onclick: () => keepAll(works) }, "all in one file, to be opened here again")));
}

export async function shareDialog(works, shipped) {
  const link = `${location.href.split("#")[0]}#t=${await packed(works.texts, works.active, shipped)}`;
  if (link.length > MOST) {
    dialog("Share", element("p", {}, `A link would have ${link.length} characters, and mail and chat cut what is longer than ${MOST}. Send a file instead:`),
      element("p", {}, element("button", { class: "chief", onclick: () => keepAll(works) }, "Save all in one file")));
    return;
  }
  const text = element("textarea", { readonly: true, "aria-label": "Link", id: "link" }, link);
  const box = dialog("Share", element("p", {}, "The link holds the texts themselves, behind the #, which browsers send to no server."), text,
    element("p", {}, element("button", { class: "chief", onclick: () => { text.select(); navigator.clipboard?.writeText(link); } }, "Copy")));
  box.querySelector("textarea").select();
}
