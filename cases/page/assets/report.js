// The button that has the whole report written, with its progress.
import { element } from "./page.js";

const EVERY = 500; // ms between looks at the progress

export function reportButton(page) {
  const button = element("button", { type: "button", onclick: begin }, "Write the full report");
  const bar = element("progress", { max: "1", value: "0", "aria-label": "Progress of the report", hidden: true });
  const words = element("span", { class: "aside", role: "status" });
  const place = element("div", { class: "report" }, button, bar, words);

  async function begin() {
    button.disabled = true;
    bar.hidden = false;
    bar.value = 0;
    try {
      const { number } = await page.ask("builder/report", { changes: page.changes });
      for (;;) {
        const found = await page.ask("builder/progress");
        if (found.number !== number) throw new Error("another report was begun");
        bar.value = found.done;
        words.textContent = found.words;
        if (found.state === "failed") throw new Error(found.reason);
        if (found.state === "done") {
          words.replaceChildren(element("a", { href: `builder/report/${number}`, target: "_blank", rel: "noopener" }, "Open the report"));
          break;
        }
        await new Promise((resolve) => setTimeout(resolve, EVERY));
      }
    } catch (trouble) {
      words.textContent = trouble.message;
    } finally {
      button.disabled = false;
      bar.hidden = true;
    }
  }
  return place;
}
