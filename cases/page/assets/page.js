// The page's frame: tabs, the state in the address, questions to the server. Each tab is a module of its own name with `mount`.

export function element(tag, attributes = {}, ...children) {
  const made = tag.startsWith("svg:")
    ? document.createElementNS("http://www.w3.org/2000/svg", tag.slice(4))
    : document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (value === true) made.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) made.setAttribute(name, value);
  }
  made.append(...children.filter((child) => child !== null && child !== undefined));
  return made;
}

export class Faults extends Error {
  // answered: whether the server answered the question, with faults; false where it could not be asked
  constructor(faults, answered = false) {
    super(faults.map((fault) => fault.words).join("\n"));
    this.faults = faults;
    this.answered = answered;
  }
}

const ID = [...crypto.getRandomValues(new Uint8Array(8))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
const MOST_UNDONE = 200;
const GONE = "forebeam does not answer: it was ended. Start forebeam page again; what is changed here goes on there if all that "
  + "stands after # in this address is put behind the new one.";

class Page {
  constructor() {
    this.number = 0;
    this.undone = { changes: [], edits: [], test: [] }; // states before each change, the newest last
    this.listeners = new Set();
    this.read();
  }

  // The state: {tab, joint, …}, with changes of the boat file, edits of the textbook case and the tables of a test; all in the address.
  read() {
    const given = new URLSearchParams(location.hash.slice(1));
    this.state = Object.fromEntries([...given].filter(([key]) => !(key in this.undone)));
    for (const kind of Object.keys(this.undone)) {
      try {
        const found = JSON.parse(given.get(kind) ?? "{}");
        this[kind] = found !== null && typeof found === "object" && !Array.isArray(found) ? found : {};
      } catch {
        this[kind] = {};
      }
    }
  }

  write() {
    const given = new URLSearchParams(this.state);
    for (const kind of Object.keys(this.undone)) if (Object.keys(this[kind]).length) given.set(kind, JSON.stringify(this[kind]));
    history.replaceState(null, "", `#${given}`);
    for (const listener of this.listeners) listener();
  }

  put(values) {
    Object.assign(this.state, values);
    for (const [key, value] of Object.entries(this.state)) if (value === null || value === "") delete this.state[key];
    this.write();
  }

  // Changes of the boat file (or edits of the textbook case, tables of a test) by key; `value` undefined: as in the file. Those of one gesture are
  // undone at once.
  change(values, gesture = null, of = "changes") {
    if (gesture === null || gesture !== this.gesture) {
      this.undone[of].push(this[of]);
      if (this.undone[of].length > MOST_UNDONE) this.undone[of].shift();
    }
    this.gesture = gesture;
    this[of] = { ...this[of], ...values };
    for (const [key, value] of Object.entries(values)) if (value === undefined) delete this[of][key];
    this.write();
  }

  // What is undone where the reader is.
  get undoing() {
    if (this.state.tab === "student") return "edits";
    return this.state.tab === "engineer" && this.state.view === "test" ? "test" : "changes";
  }

  undo() {
    const of = this.undoing;
    if (!this.undone[of].length) return;
    this.gesture = null;
    this[of] = this.undone[of].pop();
    this.write();
  }

  // An answer of the server as JSON (or text); Faults where file or structure is at fault or no answer comes, null where a newer question has come.
  async ask(path, message = null, signal = undefined, as = "json") {
    const sent = message === null ? { signal } : {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ page: ID, number: this.number++, ...message }),
      signal,
    };
    const answer = await fetch(path, sent).catch((trouble) => {
      throw signal?.aborted ? trouble : new Faults([{ place: "", words: GONE }]);
    });
    if (answer.status === 409) return null;
    if (answer.status === 422) throw new Faults((await answer.json()).faults, true);
    if (!answer.ok) {
      const why = `${answer.status}: ${await answer.text()}`;
      throw new Faults([{ place: "", words: `forebeam could not answer this (${why}); take the last change back.` }]);
    }
    return answer[as]();
  }
}

export const page = new Page();

// What is wrong with the file, key by key.
function faultTable({ name, known, faults }) {
  const count = `${faults.length} fault${faults.length === 1 ? "" : "s"}`;
  return element("section", { "aria-label": "Faults of the file" },
    element("h2", { class: "bad" }, `${name} has ${count}`),
    element("p", {}, known ? "The boat shown is that of the file before. Mend the file, and read it again." : "Mend the file in a text editor, and read it again; nothing is computed before."),
    element("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": "Table of faults" }, element("table", { class: "margin-table" },
      element("thead", {}, element("tr", {}, ...["key", "what is wrong", "what cures it"].map((title) => element("th", { scope: "col" }, title)))),
      element("tbody", {}, ...faults.map(({ place, wrong, cure }) => element("tr", {}, element("th", { scope: "row" }, place || "the file"), element("td", {}, wrong), element("td", {}, cure)))))));
}

async function start() {
  const work = document.getElementById("work");
  const bar = document.getElementById("tabs");
  const again = document.getElementById("again"), faults = document.getElementById("file-faults");
  const [tabs, file] = await Promise.all([page.ask("tabs"), page.ask("file")]);

  // The boat of the file as it was last read, and what is wrong with the file.
  async function take(found) {
    page.boat = found.known ? await page.ask("builder/boat") : null;
    document.title = `${found.name} – forebeam`;
    page.title = page.boat?.title ?? found.name;
    document.getElementById("title").textContent = page.title;
    document.getElementById("question").textContent = page.boat?.question ?? "";
    faults.replaceChildren(...(found.faults.length ? [faultTable(found)] : []));
  }

  let leave = null;
  async function show() {
    const shown = tabs.find((tab) => tab.name === page.state.tab) ?? tabs[0];
    for (const link of bar.querySelectorAll("[data-tab]")) {
      if (link.dataset.tab === shown.name) link.setAttribute("aria-current", "page");
      else link.removeAttribute("aria-current");
    }
    leave?.();
    leave = null;
    work.replaceChildren();
    work.dataset.tab = shown.name;
    faults.hidden = !shown.of_boat;
    if (shown.of_boat && !page.boat) return;
    const { mount } = await import(`./${shown.name}.js`);
    leave = mount(work, page) ?? null;
  }

  again.addEventListener("click", async () => {
    try {
      await take(await page.ask("file/read", {}));
      await show();
      if (!faults.childElementCount) again.focus();
    } catch (trouble) {
      faults.replaceChildren(element("p", { class: "bad" }, trouble.message));
    }
  });
  await take(file);
  for (const { name, title } of tabs) {
    again.before(element("button", {
      type: "button", "data-tab": name, onclick: () => {
        page.put({ tab: name });
        show();
      },
    }, title));
  }
  addEventListener("hashchange", () => {
    page.read();
    show();
  });
  addEventListener("keydown", (event) => {
    const typing = event.target.matches?.("textarea, input:not([type=range], [type=checkbox], [type=radio])");
    if ((event.ctrlKey || event.metaKey) && !event.shiftKey && event.key === "z" && !typing) {
      event.preventDefault();
      page.undo();
    }
  });
  await show();
}

start().catch((trouble) => {
  document.getElementById("work").replaceChildren(
    element("p", { role: "alert" }, `The page could not be built: ${trouble.message}`),
  );
});
