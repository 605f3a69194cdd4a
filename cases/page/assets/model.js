// The boat to turn and the joint to try, the report's own, of the boat as changed: drawn when opened, and anew when all is answered.
import { element } from "./page.js";

export function model(page, shown) {
  const boat = element("div", { class: "turning" }), live = element("div");
  const words = element("p", { role: "status", class: "aside" });
  const place = element("details", { class: "group model", ontoggle: follow }, element("summary", {}, "The boat to turn, and a joint to try"), words, boat, live);
  let drawn = "";

  async function follow() {
    const now = JSON.stringify([page.changes, shown()]);
    if (!place.open || drawn === now) return;
    drawn = now;
    words.textContent = "computing …";
    try {
      await import("./report.min.js");
      const found = await page.ask("builder/model", { joint: shown(), depth: "quick", changes: page.changes });
      if (!found || drawn !== now) return;
      end();
      const three = window.forebeam.mountScene(boat, found.scene);
      words.textContent = three ? "Linear cases." : "This browser draws no 3D.";
      window.forebeam.mountLiveJoint(live, found.live);
    } catch (trouble) {
      drawn = "";
      words.textContent = trouble.message;
    }
  }

  // A browser has few 3D canvases to give: the one before is given back.
  function end() {
    const canvas = boat.querySelector("canvas");
    (canvas?.getContext("webgl2") ?? canvas?.getContext("webgl"))?.getExtension("WEBGL_lose_context")?.loseContext();
    boat.replaceChildren();
  }
  return { place, follow, end };
}
