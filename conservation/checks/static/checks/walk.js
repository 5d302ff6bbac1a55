// The walk: each touch is sent without leaving the page, kept on this device until the server has it.
import { bind } from '../web/start.js';
import { sendChosen } from './photos.js';

const walk = document.querySelector('[data-walk]');
const KEY = `walk:${walk.dataset.person}:${walk.dataset.object}`;
const token = () => document.querySelector('[name=csrfmiddlewaretoken]').value;

/** @type {{read: () => object[], write: (queue: object[]) => void}} what waits to be sent, oldest first */
const waiting = {
  read: () => JSON.parse(localStorage.getItem(KEY) ?? '[]'),
  write: (queue) => (queue.length ? localStorage.setItem(KEY, JSON.stringify(queue)) : localStorage.removeItem(KEY)),
  // By what it says, not by its place: while it was on its way, what is being typed may have changed.
  drop: (sent) => waiting.write(waiting.read().filter((one) => JSON.stringify(one) !== sent)),
};

/** Says beside the zone at hand what has not gone through, and how to go on. @param {string} text */
const say = (text, signedOut = false) => {
  const notice = walk.querySelector('[data-notice]');
  notice.querySelector('[data-notice-words]').textContent = text;
  notice.querySelector('[data-notice-way]').hidden = !signedOut;
  notice.hidden = !text;
  if (text) notice.focus();
};

/** @param {number} count @param {Response | null} answer */
const sayWaiting = (count, answer) => {
  const signedOut = answer?.status === 401 || answer?.status === 403;
  const { unsent, signedOutWords } = walk.querySelector('[data-notice]').dataset;
  say(`${signedOut ? signedOutWords : unsent} (${count})`, signedOut);
};

/** One at a time among open pages; where a browser has no locks, as over plain http, within this page's own order. @param {() => Promise<boolean>} run */
let last = Promise.resolve();
const alone = (run) => (navigator.locks ? navigator.locks.request(KEY, run) : (last = last.then(run, run)));

/** Sends what waits, oldest first; stops at the first that does not go through. */
const flush = () => alone(async () => {
  let queue = waiting.read();
  // Nothing to send says nothing: what was refused stays said until the next touch goes through.
  if (!queue.length) return true;
  while (queue.length) {
    const sent = JSON.stringify(queue[0]);
    const answer = await fetch(walk.dataset.draft, {
      method: 'POST', headers: { 'Content-Type': 'application/json', 'X-CSRFToken': token() }, body: sent,
    }).catch(() => null);
    if (!answer || answer.status >= 500 || answer.status === 401 || answer.status === 403 || answer.status === 429) {
      sayWaiting(queue.length, answer);
      return false;
    }
    if (!answer.ok && answer.status !== 404) {
      const problem = await answer.json().catch(() => ({}));
      waiting.drop(sent);
      say(problem.detail ?? '');
      return false;
    }
    waiting.drop(sent);
    queue = waiting.read();
  }
  say('');
  return true;
});

/** Shows another state of the walk from the server, without leaving the page. @param {string} address */
const show = async (address, push = true) => {
  walk.setAttribute('aria-busy', 'true');
  const answer = await fetch(address, { headers: { 'X-Part': 'walk' } }).catch(() => null);
  walk.removeAttribute('aria-busy');
  if (!answer?.ok || answer.redirected && !new URL(answer.url).pathname.endsWith('/check/')) { location.assign(address); return; }
  const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
  const fresh = page.querySelector('[data-walk]');
  const open = [...walk.querySelectorAll('details[data-keep-open="zones"]')].some((part) => part.open);
  walk.replaceChildren(...fresh.childNodes);
  walk.querySelectorAll('details[data-keep-open="zones"]').forEach((part) => { part.open ||= open; });
  if (push) history.pushState(null, '', new URL(answer.url).search || location.pathname);
  bind(walk);
  walk.querySelector('#hand')?.focus({ preventScroll: matchMedia('(min-width: 62rem)').matches });
};

const fieldsOf = (form, button) => {
  const data = Object.fromEntries([...new FormData(form)].filter(([name, value]) => typeof value === 'string' && name !== 'csrfmiddlewaretoken'));
  return { ...data, ...(button?.name ? { [button.name]: button.value } : {}) };
};

/** Where in a drawing a finger or a mouse touched; a key touches nowhere. @param {Element} link @param {MouseEvent} event */
const touched = (link, event) => {
  const drawing = link.closest('svg.hg');
  if (!drawing || !event.detail) return '';
  const { x, y } = new DOMPoint(event.clientX, event.clientY).matrixTransform(drawing.getScreenCTM().inverse());
  return `&x=${x.toFixed(1)}&y=${y.toFixed(1)}`;
};

walk.addEventListener('click', (event) => {
  const link = event.target.closest('a[data-swap]');
  if (!link || event.ctrlKey || event.metaKey) return;
  event.preventDefault();
  show(link.getAttribute('href').split('#')[0] + touched(link, event));
});

walk.addEventListener('submit', async (event) => {
  const form = event.target.closest('form[data-touch]');
  if (!form) return;
  event.preventDefault();
  const fields = fieldsOf(form, event.submitter);
  waiting.write([...waiting.read(), fields]);
  if (!(await flush()) || !(await sendChosen(form, token()))) return;
  const stay = fields.go !== 'next' || fields.do === 'save_more';
  show(`?${new URLSearchParams(stay ? { zone: fields.zone, view: fields.view } : { view: fields.view })}`);
});

// A photograph goes as soon as it is taken; what does not go through goes with the finding.
walk.addEventListener('change', (event) => {
  if (event.target.matches('[data-photo]')) sendChosen(event.target.form, token());
});

// What is being typed is kept too: on this device at once, on the server a moment after the last change.
let timer = 0;
walk.addEventListener('change', (event) => {
  const form = event.target.closest('form[data-finding]');
  if (!form || event.target.type === 'file') return;
  const { do: _, ...fields } = fieldsOf(form, null);
  const typed = fields.percent_typed ? { ...fields, percent: fields.percent_typed } : fields;
  waiting.write([...waiting.read().filter((one) => one.do !== 'typing' || one.zone !== fields.zone), { ...typed, do: 'typing' }]);
  clearTimeout(timer);
  timer = setTimeout(flush, 400);
});

addEventListener('popstate', () => show(location.search || location.pathname, false));
/** What waited from before goes now; then the page shows it. */
const flushWaiting = async () => {
  if (waiting.read().length && await flush()) show(location.search || location.pathname, false);
};
addEventListener('online', flushWaiting);
flushWaiting();
// A photograph may have been chosen before this script came.
walk.querySelectorAll('[data-photo]').forEach((input) => { if (input.files.length) sendChosen(input.form, token()); });
walk.dataset.ready = '1';
