// Asking for answers: the quick one of the joint that is shown, then those of the others, then every case of the shown one.
// One question is on its way at a time; while it is, only the newest state waits. So a slider that moves is followed all the while.

const PAUSE = 600; // ms without a change before every case is asked for

import { Faults } from "./page.js";

const isOfJoint = (trouble) => trouble instanceof Faults && trouble.answered && trouble.faults.every((one) => !one.place);

export function answers(page, on) {
  let wanted = null; // joints of the newest state, the shown one first
  let asking = false;
  let whole = null; // the question that may be given up
  let timer = null;

  async function asked(joint, depth, signal) {
    const begun = performance.now();
    const answer = await page.ask("builder/answer", { joint, depth, changes: page.changes }, signal);
    if (answer) on.answered(joint, answer, (performance.now() - begun) / 1000);
    return answer;
  }

  async function run() {
    if (asking) return;
    asking = true;
    while (wanted) {
      const joints = wanted;
      wanted = null;
      let first = null, trouble = null;
      on.computing("quick");
      for (const joint of joints) {
        if (wanted) break;
        try {
          const answer = await asked(joint, "quick");
          first ??= joint === joints[0] ? answer : null;
        } catch (met) {
          trouble ??= met;
          // a fault of the file is every joint's, as is a server that is gone; a joint without an answer leaves the others theirs
          if (!isOfJoint(met)) break;
          on.lost(joint);
        }
      }
      if (wanted) continue;
      if (trouble) on.failed(trouble);
      else on.finished();
      if (first && first.left_out.length) timer = setTimeout(() => askWhole(joints), PAUSE);
    }
    asking = false;
  }

  async function askWhole(joints) {
    whole = new AbortController();
    const { signal } = whole;
    let trouble = null;
    for (const joint of joints) {
      on.computing("whole");
      try {
        await asked(joint, "whole", signal);
      } catch (met) {
        if (signal.aborted) return;
        trouble ??= met;
        if (!isOfJoint(met)) break;
        on.lost(joint);
      }
    }
    if (trouble) on.failed(trouble);
    else on.finished();
  }

  function stop() {
    clearTimeout(timer);
    whole?.abort();
  }

  return {
    ask(joints) {
      stop();
      wanted = joints;
      run();
    },
    stop,
  };
}
