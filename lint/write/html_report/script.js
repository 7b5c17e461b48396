"use strict";
(() => {
  const form = document.getElementById("filters");
  const count = document.getElementById("count");
  const all = (what, from) => [...(from || document).querySelectorAll(what)];
  const findings = all("article.finding");
  const rigs = all("section.rig");
  const rows = new Map(all("tr[data-rig]").map((row) => [row.dataset.rig, row]));
  const listed = all("li[data-finding]");
  const told = new Map();
  const words_of = (one) => {
    if (!told.has(one)) told.set(one, one.textContent.toLowerCase());
    return told.get(one);
  };

  const show = () => {
    const kinds = new Set(all("input[name=kind]:checked", form).map((box) => box.value));
    const words = form.words.value.trim().toLowerCase();
    const narrowed = all("input[name=kind]", form).length !== kinds.size || form.rule.value !== "";
    let shown = 0;
    for (const rig of rigs) {
      const found = all("article.finding", rig);
      const here = words === "" || words_of(rig).includes(words);
      const hits = words === "" ? [] : found.filter((one) => words_of(one).includes(words));
      let left = 0;
      for (const one of found) {
        const wanted = kinds.has(one.dataset.kind) && (form.rule.value === "" || form.rule.value === one.dataset.rule);
        one.hidden = !wanted || !here || (hits.length > 0 && !hits.includes(one));
        left += one.hidden ? 0 : 1;
      }
      shown += left;
      rig.hidden = !here || (narrowed && left === 0) || (form.only.checked && rig.dataset.worse !== "3");
      const row = rows.get(rig.id);
      if (row) row.hidden = rig.hidden;
    }
    for (const item of listed) {
      const finding = document.getElementById(item.dataset.finding);
      item.hidden = finding.hidden || finding.closest("section.rig").hidden;
    }
    shown = findings.filter((one) => !one.hidden && !one.closest("section.rig").hidden).length;
    count.textContent = `${shown} of ${findings.length} findings shown`;
  };

  const sort = () => {
    const by = {
      worse: (rig) => [-rig.dataset.worse],
      file: (rig) => [rig.dataset.file],
      parts: (rig) => [-rig.dataset.parts],
    }[form.sort.value];
    const before = (one, other) => {
      const [a, b] = [by(one)[0], by(other)[0]];
      return a < b ? -1 : a > b ? 1 : rigs.indexOf(one) - rigs.indexOf(other);
    };
    const order = [...rigs].sort(before);
    document.getElementById("all-rigs").append(...order);
    const table = document.querySelector("#table-of-files tbody");
    if (table) table.append(...order.map((rig) => rows.get(rig.id)));
  };

  const lead = (target) => {
    if (target.closest("[hidden]")) {
      form.reset();
      sort();
      show();
    }
    for (let fold = target.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
    const fold = target.querySelector(":scope > details");
    if (fold) fold.open = true;
    target.scrollIntoView();
    target.focus({ preventScroll: true });
  };
  const follow = () => {
    const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (target) lead(target);
  };
  const step = (by) => {
    const shown = all("article.finding").filter((one) => !one.closest("[hidden]"));
    if (shown.length === 0) return;
    const here = document.activeElement.closest("article.finding");
    const at = here ? shown.indexOf(here) + by : by > 0 ? 0 : shown.length - 1;
    lead(shown[(at + shown.length) % shown.length]);
  };

  const stop = (one) => {
    if (one.scrollWidth > one.clientWidth + 1) one.tabIndex = 0;
    else one.removeAttribute("tabindex");
  };
  // Only what is near is measured: to measure all of a long report takes seconds.
  const near = new IntersectionObserver((seen) => {
    for (const one of seen) if (one.isIntersecting) stop(one.target);
  }, { rootMargin: "100%" });

  form.addEventListener("change", () => { sort(); show(); });
  form.addEventListener("input", show);
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("reset", () => setTimeout(() => { sort(); show(); }));
  document.getElementById("next").addEventListener("click", () => step(1));
  document.getElementById("before").addEventListener("click", () => step(-1));
  addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    if (event.target.matches("input[type=search],select,textarea")) return;
    if (event.key === "n") step(1);
    else if (event.key === "p") step(-1);
    else if (event.key === "/") { form.words.focus(); event.preventDefault(); }
  });
  addEventListener("hashchange", follow);
  addEventListener("resize", () => {
    for (const one of all(".scroll")) {
      near.unobserve(one);
      near.observe(one);
    }
  });
  addEventListener("beforeprint", () => { for (const one of all("details")) one.open = true; });
  form.hidden = false;
  show();
  for (const one of all(".scroll")) near.observe(one);
})();
