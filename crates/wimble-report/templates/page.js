"use strict";
// Filters that read as sentences. The page is whole without them.
(() => {
  const form = document.getElementById("show");
  if (!form) return;
  const none = document.getElementById("none");
  const output = form.querySelector("output");
  const has = (list, key) => key === "" || (" " + list + " ").includes(" " + key + " ");
  const sheets = Array.from(document.querySelectorAll("article"), (article) => ({
    article,
    mark: article.dataset.mark.toLowerCase(),
    verdict: article.dataset.verdict,
    storey: article.dataset.storey,
    trade: article.dataset.trade,
    rule: article.dataset.rule,
  }));
  const lines = new Map();
  for (const link of document.querySelectorAll(".plan a")) {
    lines.set(link.getAttribute("href").slice(1), link);
  }
  const show = () => {
    const asked = Object.fromEntries(new FormData(form));
    const mark = asked.mark.trim().toLowerCase();
    let shown = 0;
    for (const sheet of sheets) {
      const wanted = has(sheet.verdict, asked.verdict) && has(sheet.storey, asked.storey)
        && has(sheet.trade, asked.trade) && has(sheet.rule, asked.rule) && sheet.mark.includes(mark);
      sheet.article.hidden = !wanted;
      lines.get(sheet.article.id)?.classList.toggle("away", !wanted);
      shown += wanted;
    }
    output.value = shown === sheets.length
      ? `${shown} ${shown === 1 ? "member" : "members"}`
      : `${shown} of ${sheets.length} members`;
    none.hidden = shown > 0;
  };
  const all = () => { form.reset(); show(); };
  form.addEventListener("input", show);
  form.addEventListener("reset", () => setTimeout(show));
  form.addEventListener("submit", (event) => event.preventDefault());
  none.querySelector("button").addEventListener("click", all);
  for (const ready of form.querySelectorAll(".ready button")) {
    ready.addEventListener("click", () => {
      form.reset();
      form.elements.verdict.value = ready.dataset.verdict;
      form.elements.storey.value = ready.dataset.storey;
      show();
    });
  }
  // A link to a member that is filtered away shows it again.
  const arrive = () => {
    const id = decodeURIComponent(location.hash.slice(1));
    const article = id && document.getElementById(id);
    if (article?.hidden) {
      all();
      article.scrollIntoView();
    }
  };
  window.addEventListener("hashchange", arrive);
  form.hidden = false;
  show();
  arrive();
})();
