/** What watches a page from within, before anything of its own runs. */

export function watched() {
  const tasks = [];
  new PerformanceObserver((list) => {
    for (const entry of list.getEntries()) tasks.push({ ms: entry.duration, at: location.hash || 'opening' });
  }).observe({ type: 'longtask', buffered: true });

  /** Each question to a worker: its text, when it was put, when its answer came. */
  const asked = new Map();
  const done = [];
  const Plain = window.Worker;
  window.Worker = class extends Plain {
    constructor(...given) {
      super(...given);
      this.addEventListener('message', ({ data }) => {
        const question = asked.get(data?.id);
        if (data?.is !== 'answer' || !question) return;
        asked.delete(data.id);
        done.push({ ...question, json: data.json, worker: performance.now() - question.from });
      });
    }
    postMessage(message, ...given) {
      if (message?.do === 'ask') asked.set(message.id, { request: message.request, from: performance.now() });
      super.postMessage(message, ...given);
    }
  };

  const painted = () => new Promise((then) => requestAnimationFrame(() => setTimeout(() => then(performance.now()))));
  const workerSince = (from) => done.filter((one) => one.from >= from).reduce((sum, one) => sum + one.worker, 0);

  async function shown(selector, count, wait, from) {
    while (document.querySelectorAll(selector).length < count) {
      if (performance.now() - from > wait) throw new Error(`${selector} was never shown`);
      await new Promise((then) => requestAnimationFrame(then));
    }
    const ms = (await painted()) - from;
    return { ms, worker: workerSince(from) };
  }

  const fromSource = (source) => new Plain(URL.createObjectURL(new Blob([source], { type: 'text/javascript' })));
  const once = (worker, message) =>
    new Promise((then) => {
      worker.onmessage = ({ data }) => then(data);
      worker.postMessage(message);
    });
  function spin() {
    const from = performance.now();
    let x = 0;
    for (let n = 0; n < 3e7; n += 1) x = (x * 31 + n) | 0;
    return performance.now() - from + 0 * x;
  }

  window.speed = {
    longTasks: () => tasks,
    whenShown: (selector, count, wait) => shown(selector, count, wait, 0),
    async whenShownAfterClick(selector, count, wait) {
      const from = await new Promise((then) =>
        window.addEventListener('click', (event) => then(event.timeStamp), { once: true, capture: true }),
      );
      return shown(selector, count, wait, from);
    },
    /** From the next letter in a field until what it finds is painted. */
    async keystroke() {
      const from = await new Promise((then) =>
        window.addEventListener('input', (event) => then(event.timeStamp), { once: true, capture: true }),
      );
      const about = (one) => one.from >= from && one.request.includes('"ask":"parts"');
      while (!done.some(about)) await new Promise((then) => setTimeout(then));
      const { json, worker } = done.find(about);
      return { ms: (await painted()) - from, worker, json };
    },
    /** How long a worker and the page take that only hand the same answer over and read it. */
    async echo(json) {
      const worker = fromSource('onmessage = ({ data }) => postMessage(data);');
      await once(worker, '');
      const from = performance.now();
      JSON.parse(await once(worker, json));
      const ms = (await painted()) - from;
      worker.terminate();
      return ms;
    },
    /** The same list put into the page as text. */
    async plainList(selector) {
      const html = document.querySelector(selector).outerHTML;
      const beside = document.createElement('div');
      const from = performance.now();
      beside.innerHTML = html;
      document.body.append(beside);
      const ms = (await painted()) - from;
      beside.remove();
      return ms;
    },
    /** How much longer a worker takes for what this thread does, slowed as it is, against a thread that is not. */
    async workerSlowedBy(rate) {
      const worker = fromSource(`${spin}; onmessage = () => postMessage(spin());`);
      await once(worker, 0);
      spin();
      const here = spin();
      const slowed = (rate * (await once(worker, 0))) / here;
      worker.terminate();
      return slowed;
    },
  };
}
