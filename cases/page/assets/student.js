// The student's tab: textbook cases listed, searched and opened; theory beside result, with the frame's pictures.
import { element, Faults } from "./page.js";
import { freeBody } from "./student_cut.js";
import { studentFields } from "./student_fields.js";
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
  const inCut = freeBody(page);
  const undo = element("button", { type: "button", onclick: () => page.undo() }, "Undo");
  const reset = element("button", { type: "button", onclick: () => page.change(Object.fromEntries(Object.keys(page.edits).map((key) => [key, undefined])), null, "edits") }, "As in the book");
  const controls = element("section", { class: "controls", "aria-label": "Changes" });
  const inFields = studentFields(controls, page);
  work.append(chooser, head, acting, element("div", { class: "bench" },
    element("div", { class: "left" }, element("div", { class: "tools" }, undo, reset), controls),
    element("div", { class: "right" }, status, faults, theory, pictures, inCut.place, source)));

  let cases = []; // names, in the order of the list
  let shown = null; // the description of the case that is open
  let asking = false, left = false;
  let next = null; // what is to be asked next
  let before = "";

  const open = (name) => {
    chooser.open = false;
    page.edits = {};
    page.undone.edits = [];
    page.put({ case: name, load: null, beam: null, at: null });
    title.focus();
  };

  async function follow() {
    const name = page.state.case ?? cases[0];
    undo.disabled = !page.undone[page.undoing].length;
    reset.disabled = !Object.keys(page.edits).length;
    if (shown?.name === name) inFields.follow();
    const beam = page.state.beam ?? "", at = Math.min(1, Math.max(0, Number(page.state.at ?? 0.5))) || 0;
    const wanted = JSON.stringify([name, page.state.load, page.edits, beam, at]);
    if (!cases.length || wanted === before) return;
    before = wanted;
    next = { case: name, load: page.state.load ?? "", edits: page.edits, beam, at };
    if (asking) return; // one question is on its way at a time; the newest state waits
    asking = true;
    work.setAttribute("aria-busy", "true");
    while (next && !left) {
      const question = next;
      next = null;
      try {
        status.textContent = "computing …";
        if (shown?.name !== question.case) describe(await page.ask(`student/case/${encodeURIComponent(question.case)}`));
        const answer = await page.ask("student/answer", question);
        if (answer === null || left || next) continue;
        draw(answer);
        faults.replaceChildren();
        inFields.mark([]);
      } catch (trouble) {
        if (next) continue;
        const wrong = trouble instanceof Faults ? trouble.faults : [{ place: "", words: `${trouble.message}. Is forebeam still running?` }];
        faults.replaceChildren(element("ul", {}, ...wrong.map((one) => element("li", {}, one.words))));
        inFields.mark(wrong);
        status.textContent = theory.children.length ? "The last good answer is shown." : "No answer.";
      }
    }
    asking = false;
    work.removeAttribute("aria-busy");
  }

  function describe(found) {
    shown = found;
    theory.replaceChildren();
    pictures.replaceChildren();
    inCut.clear();
    inFields.describe(found);
    title.textContent = found.title;
    load.replaceChildren(...found.loads.map((one) => element("option", { value: one.name }, one.name)));
    source.replaceChildren(element("h2", {}, "The case and its source"),
      ...found.note.map((lines) => element("p", {}, ...lines.flatMap((line, number) => (number ? [element("br"), line] : [line])))),
      element("p", { class: "aside" }, `Source (${found.seen}): ${found.source}.`));
    for (const link of chooser.querySelectorAll("[data-case]")) link.toggleAttribute("aria-current", link.dataset.case === found.name);
  }

  function draw(answer) {
    load.value = answer.load;
    inFields.follow(answer.load);
    acting.textContent = answer.words;
    status.textContent = `${answer.elements} element${answer.elements === 1 ? "" : "s"}; ${answer.method}.`;
    theory.replaceChildren(element("h2", {}, "Theory beside result"),
      ...answer.without.map((reason) => element("p", { class: "no-theory" }, element("strong", {}, "The theory no longer applies: "), `${reason}.`)),
      rows(answer));
    diagrams(pictures, answer, (beam, fraction) => page.put({ beam, at: fraction.toFixed(2) }));
    inCut.draw(answer);
  }

  function rows(answer) {
    const scaled = answer.rows.some((row) => row.status === "scaled");
    const titles = ["value", scaled ? "theory now" : "theory", "computed", "difference", "tolerance", ...(scaled ? ["published", "times"] : [])];
    const factor = (row) => (row.factor === null ? "–" : Number(row.factor.toPrecision(6)).toString().replace("-", "−"));
    const number = (cell) => element("td", { class: "n" }, cell ?? "–");
    const met = (row) => (row.ok === null ? ["quiet", "no theory"] : row.ok ? ["good", "within"] : ["bad", "outside"]);
    return element("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": "Theory beside result" }, element("table", { class: "margin-table theory" },
      element("thead", {}, element("tr", {}, ...titles.map((one) => element("th", { scope: "col" }, one)))),
      element("tbody", {}, ...answer.rows.map((row) => element("tr", {}, element("th", { scope: "row" }, `${row.at} ${row.quantity}`),
        number(row.theory), number(row.computed), number(row.difference), element("td", { class: `met ${met(row)[0]}` }, met(row)[1]),
        ...(scaled ? [number(row.published), number(factor(row))] : []))))),
    scaled ? element("p", { class: "aside" }, "Theory now: the published value times the factor that dimensional analysis gives exactly for what was changed.") : null);
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
      element("div", { class: "topics", tabindex: "0", role: "group", "aria-label": "Textbook cases by topic" }, element("div", {}, ...lists)));
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
  const heading = document.getElementById("title");
  heading.textContent = "Frames from textbooks";
  return () => {
    left = true;
    heading.textContent = page.title;
    page.listeners.delete(follow);
  };
}
