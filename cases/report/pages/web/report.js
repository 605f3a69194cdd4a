// What the report's page does where scripts run; without them it is the same page, with a still picture.
import { mountLiveJoint, solveJoint, stiffnessOf } from "./live_joint.js";
import { mountScene } from "./scene.js";

function dataOf(name) {
  const block = document.getElementById(name);
  return block && JSON.parse(block.textContent);
}

const boat = document.getElementById("model-to-turn"), live = document.getElementById("live-joint");
const scene = dataOf("scene-data"), model = dataOf("live-joint-data");
if (boat && scene) {
  const still = boat.querySelector(".still"), turning = boat.querySelector(".turning");
  if (mountScene(turning, scene)) still.classList.add("print-only");
}
if (live && model) {
  mountLiveJoint(live, model);
  live.closest("section").hidden = false;
}
// for whoever opens the console, for the local page, and for the tests
window.forebeam = { mountScene, mountLiveJoint, solveJoint, stiffnessOf, scene, model };
