// Which panel is shown. On a wide page the text always is, and one panel beside it; on a narrow one there is one at a time.
import { byId } from "./elements.js";

export function showTabs() {
  const tabs = [...document.querySelectorAll("[role=tab]")];
  const wide = matchMedia("(min-width: 761px)");
  let chosen = "findings";

  const panelOf = (tab) => byId(tab.getAttribute("aria-controls"));
  const offeredTabs = () => tabs.filter((tab) => !wide.matches || !tab.classList.contains("narrow"));

  function show() {
    if (wide.matches && chosen === "text") chosen = "findings";
    for (const tab of tabs) {
      const on = tab.getAttribute("aria-controls") === chosen;
      tab.setAttribute("aria-selected", String(on));
      tab.tabIndex = on ? 0 : -1;
      panelOf(tab).hidden = !on && !(wide.matches && tab.classList.contains("narrow"));
    }
  }

  function choose(name) {
    chosen = name;
    show();
  }

  for (const tab of tabs) {
    tab.onclick = () => choose(tab.getAttribute("aria-controls"));
    tab.onkeydown = (event) => {
      const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
      if (!step) return;
      const there = offeredTabs();
      const next = there[(there.indexOf(tab) + step + there.length) % there.length];
      choose(next.getAttribute("aria-controls"));
      next.focus();
    };
  }
  wide.addEventListener("change", show);
  show();
  return { choose, narrow: () => !wide.matches };
}
