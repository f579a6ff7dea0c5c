"use strict";
(() => {
  const old = document.getElementById("old");
  const now = new Date();
  const [year, month, day] = old.dataset.iso.split("-").map(Number);
  const days = Math.round((Date.UTC(now.getFullYear(), now.getMonth(), now.getDate()) - Date.UTC(year, month - 1, day)) / 864e5);
  if (days > 0) {
    old.textContent = days === 1 ? old.dataset.one : old.dataset.more.replace("{count}", days);
    old.hidden = false;
  }

  const form = document.getElementById("find");
  if (!form) return;
  const list = document.getElementById("all");
  const field = form.elements;
  const result = form.querySelector("output");
  const collator = new Intl.Collator(document.documentElement.lang, { numeric: true });
  const fold = (text) => text.normalize("NFKC").toLocaleLowerCase();
  const told = (node, inside) => node.querySelector(inside)?.textContent ?? "";

  const engines = Array.from(list.getElementsByTagName("article"), (node, at) => {
    const head = node.firstElementChild;
    return {
      node, at, rows: null,
      name: told(head, "h3"), boat: told(head, ".b"), place: told(head, ".p"),
      due: Number(node.dataset.d ?? Infinity), used: Number(node.dataset.u),
      held: "h" in node.dataset,
    };
  });

  const rowsOf = (engine) => {
    if (engine.rows) return engine.rows;
    const head = engine.node.firstElementChild;
    engine.head = fold(`${engine.name} ${told(head, "p")}`);
    engine.clears = engine.node.querySelector(".clears");
    const asking = Array.from(engine.node.querySelectorAll(":scope > ol > li"), (node) => row(node, node.className[0]));
    const clear = Array.from(engine.clears?.querySelectorAll("li") ?? [], (node) => row(node, "c"));
    engine.rows = asking.concat(clear);
    return engine.rows;
  };
  const row = (node, kind) => ({
    node, kind, job: (node.querySelector("bdi") ?? node.firstChild).textContent, text: fold(node.firstChild.textContent),
  });

  const choices = (select, of) => {
    const names = Array.from(new Set(engines.map(of))).filter((name) => name).sort(collator.compare);
    for (const name of names) {
      const option = document.createElement("option");
      option.value = option.textContent = name;
      select.append(option);
    }
    select.parentElement.hidden = names.length < 2;
  };
  choices(field.boat, (engine) => engine.boat);
  choices(field.place, (engine) => engine.place);

  const fits = (engine, asked) =>
    (!asked.boat || engine.boat === asked.boat) &&
    (!asked.place || engine.place === asked.place) &&
    (asked.status !== "h" || engine.held);

  const show = (engine, asked) => {
    const rows = rowsOf(engine);
    const wanted = asked.words.filter((word) => !engine.head.includes(word));
    const status = asked.status === "h" ? "" : asked.status;
    const narrow = wanted.length > 0 || status || asked.leads;
    let asking = 0, clear = 0;
    for (const item of rows) {
      const is = (!status || item.kind === status) && (!asked.leads || asked.leads.has(item.job)) &&
        wanted.every((word) => item.text.includes(word));
      item.node.hidden = !is;
      if (is && item.kind === "c") clear += 1;
      else if (is) asking += 1;
    }
    if (engine.clears) {
      engine.clears.hidden = clear === 0;
      engine.clears.firstElementChild.textContent = form.dataset.clear.replace("{count}", clear);
      const open = clear > 0 && Boolean(narrow) && (status === "c" || asking === 0);
      if (open || engine.opened) engine.clears.open = open;
      engine.opened = open;
    }
    return !narrow || asking + clear > 0;
  };

  const apply = () => {
    const asked = {
      words: fold(field.q.value).split(/\s+/).filter((word) => word),
      status: field.status.value, boat: field.boat.value, place: field.place.value,
      leads: field.leads.value && new Set(JSON.parse(field.leads.selectedOptions[0].dataset.jobs)),
    };
    let shown = 0;
    for (const engine of engines) {
      const is = fits(engine, asked) && show(engine, asked);
      engine.node.hidden = !is;
      shown += Number(is);
    }
    result.textContent = form.dataset.shown.replace("{shown}", shown).replace("{all}", engines.length);
  };

  const orders = {
    worst: (one, other) => one.at - other.at,
    name: (one, other) => collator.compare(one.name, other.name),
    boat: (one, other) => (one.boat === "") - (other.boat === "") || collator.compare(one.boat, other.boat),
    due: (one, other) => one.due - other.due || 0,
    used: (one, other) => other.used - one.used,
  };
  const arrange = () => {
    const by = orders[field.order.value];
    const sorted = engines.slice().sort((one, other) => by(one, other) || one.at - other.at);
    list.append(...sorted.map((engine) => engine.node));
  };

  form.addEventListener("input", (event) => (event.target === field.order ? arrange() : apply()));
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("reset", () => requestAnimationFrame(() => { arrange(); apply(); }));
  form.hidden = false;
})();
