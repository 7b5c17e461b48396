"use strict";
(() => {
  const form = document.getElementById("filters");
  const count = document.getElementById("count");
  const findings = [...document.querySelectorAll("article.finding")];
  const rigs = [...document.querySelectorAll("section.rig")];
  const rows = new Map([...document.querySelectorAll("tr[data-rig]")].map((row) => [row.dataset.rig, row]));
  const show = () => {
    const kinds = new Set([...form.querySelectorAll("input:checked")].map((box) => box.value));
    const all = form.querySelectorAll("input").length === kinds.size && form.rule.value === "";
    let shown = 0;
    for (const one of findings) {
      one.hidden = !kinds.has(one.dataset.kind) || (form.rule.value !== "" && form.rule.value !== one.dataset.rule);
      shown += one.hidden ? 0 : 1;
    }
    for (const rig of rigs) {
      rig.hidden = !all && rig.querySelector("article.finding:not([hidden])") === null;
      const row = rows.get(rig.id);
      if (row) row.hidden = rig.hidden;
    }
    count.textContent = `${shown} of ${findings.length} findings shown`;
  };
  const follow = () => {
    const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (!target) return;
    if (target.closest("[hidden]")) {
      form.reset();
      show();
    }
    target.scrollIntoView();
    target.focus({ preventScroll: true });
  };
  form.addEventListener("change", show);
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("reset", () => setTimeout(show));
  addEventListener("hashchange", follow);
  if (findings.length > 0) form.hidden = false;
  show();
})();
