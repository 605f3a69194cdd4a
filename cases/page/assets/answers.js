// Asking for answers: the quick one of the joint that is shown, then those of the others, then every case of the shown one.
// One question is on its way at a time; while it is, only the newest state waits. So a slider that moves is followed all the while.

const PAUSE = 600; // ms without a change before every case is asked for

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
      const [shown, ...others] = wanted;
      wanted = null;
      try {
        on.computing("quick");
        const answer = await asked(shown, "quick");
        for (const joint of others) {
          if (wanted) break;
          await asked(joint, "quick");
        }
        if (!wanted) on.finished();
        if (!wanted && answer && answer.left_out.length) timer = setTimeout(() => askWhole([shown, ...others]), PAUSE);
      } catch (trouble) {
        if (!wanted) on.failed(trouble);
      }
    }
    asking = false;
  }

  async function askWhole(joints) {
    whole = new AbortController();
    const { signal } = whole;
    try {
      for (const joint of joints) {
        on.computing("whole");
        await asked(joint, "whole", signal);
      }
      on.finished();
    } catch (trouble) {
      if (!signal.aborted) on.failed(trouble);
    }
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
