// The student's tab: textbook cases listed, searched and opened; theory beside result, with the frame's pictures.
import { element, Faults } from "./page.js";
import { diagrams } from "./student_pictures.js";

export function mount(work, page) {
  const status = element("p", { role: "status", class: "status" });
  const faults = element("div", { role: "alert", class: "faults" });
  const chooser = element("details", { class: "group chooser" });
  const title = element("h2", { class: "case-title", tabindex: "-1" });
  const load = element("select", { id: "load-case", onchange: () => page.put({ load: load.value }) });
  const head = element("div", {}, title, element("div", { class: "tools" }, element("label", { for: "load-case" }, "Load case"), load));
  const acting = element("p", { class: "aside" });
  const theory = element("section", { "aria-label": "Theory and result" });
  const pictures = element("section", { class: "pictures", "aria-label": "Pictures" });
  const source = element("section", { "aria-label": "Source" });
  work.append(chooser, head, acting, status, faults, theory, pictures, source);

  let cases = []; // names, in the order of the list
  let shown = null; // the description of the case that is open
  let controller = null;
  let round = 0;
  let before = "";

  const open = (name) => {
    chooser.open = false;
    page.put({ case: name, load: null });
    title.focus();
  };

  async function follow() {
    const name = page.state.case ?? cases[0];
    const wanted = JSON.stringify([name, page.state.load]);
    if (!cases.length || wanted === before) return;
    before = wanted;
    const now = ++round;
    controller?.abort();
    controller = new AbortController();
    work.setAttribute("aria-busy", "true");
    status.textContent = "computing …";
    try {
      const description = shown?.name === name ? shown : await page.ask(`student/case/${encodeURIComponent(name)}`, null, controller.signal);
      const answer = await page.ask("student/answer", { case: name, load: page.state.load ?? "" }, controller.signal);
      if (now !== round || answer === null) return;
      if (shown !== description) describe(description);
      draw(answer);
      faults.replaceChildren();
    } catch (trouble) {
      if (now !== round) return;
      const wrong = trouble instanceof Faults ? trouble.faults : [{ words: `${trouble.message}. Is forebeam still running?` }];
      faults.replaceChildren(element("ul", {}, ...wrong.map((one) => element("li", {}, one.words))));
      status.textContent = shown ? "The last good answer is shown." : "No answer.";
    }
    work.removeAttribute("aria-busy");
  }

  function describe(found) {
    shown = found;
    title.textContent = found.title;
    load.replaceChildren(...found.loads.map((one) => element("option", { value: one.name }, one.name)));
    source.replaceChildren(element("h2", {}, "The case and its source"),
      ...found.note.map((lines) => element("p", {}, ...lines.flatMap((line, number) => (number ? [element("br"), line] : [line])))),
      element("p", { class: "aside" }, `Source (${found.seen}): ${found.source}.`));
    for (const link of chooser.querySelectorAll("[data-case]")) link.toggleAttribute("aria-current", link.dataset.case === found.name);
  }

  function draw(answer) {
    load.value = answer.load;
    acting.textContent = shown.loads.find((one) => one.name === answer.load)?.words ?? "";
    status.textContent = `${answer.elements} element${answer.elements === 1 ? "" : "s"}; ${answer.method}.`;
    theory.replaceChildren(element("h2", {}, "Theory beside result"), rows(answer));
    diagrams(pictures, answer.picture);
  }

  function rows(answer) {
    const titles = ["value", "theory", "computed", "difference", ""];
    return element("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": "Theory beside result" }, element("table", { class: "margin-table theory" },
      element("thead", {}, element("tr", {}, ...titles.map((one) => (one ? element("th", { scope: "col" }, one) : element("td"))))),
      element("tbody", {}, ...answer.rows.map((row) => element("tr", {},
        element("th", { scope: "row" }, `${row.at} ${row.quantity}`), element("td", { class: "n" }, row.theory), element("td", { class: "n" }, row.computed),
        element("td", { class: "n" }, row.difference), element("td", { class: row.ok ? "good" : "bad" }, row.ok ? "within tolerance" : "outside"))))));
  }

  async function fill() {
    const topics = await page.ask("student/cases");
    cases = topics.flatMap((topic) => topic.cases.map((one) => one.name));
    const search = element("input", { type: "search", id: "search-cases", autocomplete: "off", oninput: sift });
    const found = element("p", { role: "status", class: "aside" });
    const lists = topics.map((topic) => element("section", { "data-words": topic.topic },
      element("h3", {}, topic.topic), element("p", { class: "aside" }, topic.words),
      element("ul", {}, ...topic.cases.map((one) => element("li", { "data-words": `${topic.topic} ${one.name.replaceAll("_", " ")} ${one.title} ${one.source}`.toLowerCase() },
        element("button", { type: "button", class: "link", "data-case": one.name, onclick: () => open(one.name) }, one.title))))));
    chooser.replaceChildren(element("summary", {}, `Textbook cases (${cases.length})`),
      element("div", { class: "tools" }, element("label", { for: "search-cases" }, "Search title, topic, source"), search), found,
      element("div", { class: "topics" }, ...lists));
    chooser.open = page.state.case === undefined;
    function sift() {
      const words = search.value.toLowerCase().split(/\s+/).filter(Boolean);
      let count = 0;
      for (const list of lists) {
        let any = false;
        for (const item of list.querySelectorAll("li")) {
          item.hidden = !words.every((word) => item.dataset.words.includes(word));
          if (!item.hidden) count += any = 1;
        }
        list.hidden = !any;
      }
      found.textContent = words.length ? `${count} of ${cases.length} cases` : "";
    }
    follow();
  }
  fill().catch((trouble) => { status.textContent = `${trouble.message}. Is forebeam still running?`; });
  page.listeners.add(follow);
  return () => {
    controller?.abort();
    page.listeners.delete(follow);
  };
}
