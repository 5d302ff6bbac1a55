// A mark that moves along a chart and says what stands there; closer, earlier and later without leaving the page. The page works without it.

const places = new WeakMap();

/** Instants and values of a drawn line, read back from its own geometry. @param {SVGPathElement} line @param {DOMStringMap} frame */
const read = (line, frame) => {
  if (places.has(line)) return places.get(line);
  const { low, high, bottom, top } = line.dataset;
  const perX = (frame.to - frame.from) / (frame.right - frame.left);
  const perY = (high - low) / (top - bottom);
  const each = 'hand' in line.dataset ? /M([\d.]+) ([\d.]+)/g : /([\d.]+) ([\d.]+)/g;
  const points = [...line.getAttribute('d').matchAll(each)].map(([, x, y]) => (
    { x: Number(x), at: Number(frame.from) + (x - frame.left) * perX, value: Number(low) + (y - bottom) * perY }));
  places.set(line, points);
  return points;
};

/** The point nearest to a place; none where the line was lifted there. @param {{x: number}[]} points @param {number} x */
const nearest = (points, x) => {
  let low = 0, high = points.length - 1;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (points[middle].x < x) low = middle + 1; else high = middle;
  }
  const found = low && x - points[low - 1].x < points[low].x - x ? points[low - 1] : points[low];
  return found && Math.abs(found.x - x) < 6 ? found : null;
};

/** @param {HTMLElement} figure */
const follow = (figure) => {
  const svg = figure.querySelector('svg');
  if (!svg?.dataset.from) return;
  const reader = figure.querySelector('[data-chart-reader]');
  const mark = reader.querySelector('input');
  const said = figure.querySelector('[data-chart-said]');
  const closer = document.querySelector('[data-closer]');
  const frame = svg.dataset;
  const lines = [...svg.querySelectorAll('[data-read]')];
  const hands = [...svg.querySelectorAll('[data-hand]')];
  /** What stands at a place, as many lines as there are. @param {SVGPathElement} line @param {number} x */
  const at = (line, x) => { const point = nearest(read(line, frame), x); return point && `${point.value.toFixed(1)} ${line.dataset.unit}`; };
  const show = () => {
    const x = Number(frame.left) + (mark.value / 1000) * (frame.right - frame.left);
    svg.querySelector('[data-cursor]').setAttribute('d', `M${x} 28V458`);
    const when = new Date(1000 * (Number(frame.from) + (mark.value / 1000) * (frame.to - frame.from)));
    const words = lines.map((line) => at(line, x) ?? '–').join(', ');
    const byHand = hands.map((line) => at(line, x)).filter(Boolean).join(', ');
    const time = when.toLocaleString(document.documentElement.lang, { dateStyle: 'medium', timeStyle: 'short' });
    said.textContent = `${time}: ${words}${byHand && `; ${hands[0].dataset.hand} ${byHand}`}`;
    mark.setAttribute('aria-valuetext', said.textContent);
    const spans = [...document.querySelectorAll('[data-chart-span]')].map((link) => link.dataset.chartSpan);
    const now = new URLSearchParams(location.search).get('span') ?? 'year';
    const next = spans[spans.indexOf(now) + 1];
    closer.hidden = !next;
    const half = { month: 15, week: 3, day: 0 }[next] ?? 182;
    // The day of the clock on the wall, as the words beside it: by universal time it is the day before for an hour or two.
    const day = new Date(when.getTime() + half * 864e5 - when.getTimezoneOffset() * 6e4);
    closer.href = `?span=${next}&on=${day.toISOString().slice(0, 10)}`;
  };
  mark.addEventListener('input', show);
  svg.addEventListener('pointermove', (event) => {
    const box = svg.getBoundingClientRect();
    const x = ((event.clientX - box.left) / box.width) * svg.viewBox.baseVal.width;
    mark.value = String(Math.max(0, Math.min(1000, (1000 * (x - frame.left)) / (frame.right - frame.left))));
    show();
  });
  reader.hidden = false;
};

/** Fetches the page of another time and puts it in the place of this one; the focus stays where it was. @param {string} address */
const go = async (address) => {
  const answer = await fetch(address, { headers: { Accept: 'text/html' } });
  if (!answer.ok || answer.redirected) { location.assign(address); return; }
  const text = await answer.text();
  performance.mark('chart-came');
  const page = new DOMParser().parseFromString(text, 'text/html').querySelector('[data-chart-page]');
  if (!page) { location.assign(address); return; }
  const words = document.activeElement?.textContent;
  document.querySelectorAll('details[id][open]').forEach((fold) => { page.querySelector(`#${fold.id}`)?.setAttribute('open', ''); });
  document.querySelector('[data-chart-page]').replaceWith(page);
  start();
  [...page.querySelectorAll('[data-chart-link]')].find((link) => link.textContent === words)?.focus();
  requestAnimationFrame(() => setTimeout(() => performance.measure('chart-drawn', 'chart-came')));
};

const start = () => {
  document.querySelectorAll('[data-chart]').forEach(follow);
  // The newest stands at the right end: on a narrow screen it is shown first.
  document.querySelectorAll('.chart-roll:not([data-from-left])').forEach((roll) => { roll.scrollLeft = roll.scrollWidth; });
  document.querySelectorAll('[data-chart-link]').forEach((link) => link.addEventListener('click', (event) => {
    if (event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    history.pushState(null, '', link.href);
    go(link.href);
  }));
};

window.addEventListener('popstate', () => go(location.href));
start();
