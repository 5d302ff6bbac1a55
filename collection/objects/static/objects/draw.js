// A zone drawn on a photograph: each touch sets a corner, nothing is dragged. The corners stand as numbers in the form,
// in percent of width and height; without this script they are written there.

const SVG = 'http://www.w3.org/2000/svg';
/** how near, in pixels of the screen, a touch closes the shape at its first corner */
const NEAR = 22;
const STEP = 1;
const WIDE_STEP = 5;

/** @typedef {[number, number]} Corner */

/** @param {string} text @returns {Corner[]} */
const read = (text) => text.split(/[;\n]/).map((pair) => (pair.match(/-?\d+(\.\d+)?/g) ?? []).map(Number)).filter((pair) => pair.length === 2);
const write = (corners) => corners.map(([x, y]) => `${+x.toFixed(2)} ${+y.toFixed(2)}`).join('; ');
const within = (value) => Math.min(100, Math.max(0, value));
const make = (name, attributes) => {
  const element = document.createElementNS(SVG, name);
  Object.entries(attributes).forEach(([key, value]) => element.setAttribute(key, value));
  return element;
};

/** @param {HTMLElement} board */
const bind = (board) => {
  const svg = board.querySelector('svg');
  const text = document.querySelector(board.dataset.draw);
  const said = document.querySelector('[data-draw-said]');
  const layer = svg.appendChild(make('g', { class: 'draw-layer' }));
  const { width, height } = svg.viewBox.baseVal;
  let corners = read(text.value);
  let closed = corners.length > 2;

  const say = (name) => {
    const [x, y] = corners.at(-1) ?? [0, 0];
    said.textContent = said.dataset[name].replace('{n}', corners.length).replace('{x}', x.toFixed(0)).replace('{y}', y.toFixed(0));
  };
  const paint = () => {
    const at = corners.map(([x, y]) => [x * width / 100, y * height / 100]);
    const line = { points: at.map((pair) => pair.join(',')).join(' ') };
    const kind = closed ? 'polygon' : 'polyline';
    layer.replaceChildren(
      make(kind, { class: 'rim', ...line }), make(kind, { class: 'edge', ...line }),
      ...at.map(([x, y], n) => make('circle', { class: n === at.length - 1 ? 'corner is-last' : 'corner', cx: x, cy: y, r: n ? 6 : 9 })),
    );
  };
  const change = (next, shut, word) => {
    corners = next;
    closed = shut;
    text.value = write(corners);
    paint();
    say(word);
  };
  /** @param {MouseEvent} event @returns {Corner} */
  const place = (event) => {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    return [within(point.x / width * 100), within(point.y / height * 100)];
  };
  const closes = (event) => {
    if (corners.length < 3) return false;
    const [x, y] = corners[0];
    const first = new DOMPoint(x * width / 100, y * height / 100).matrixTransform(svg.getScreenCTM());
    return Math.hypot(first.x - event.clientX, first.y - event.clientY) < NEAR;
  };
  const undo = () => (closed ? change(corners, false, 'corner') : change(corners.slice(0, -1), false, corners.length > 1 ? 'corner' : 'none'));
  const close = () => (corners.length < 3 ? say('few') : change(corners, true, 'closed'));
  const move = (dx, dy) => {
    const [x, y] = corners.at(-1) ?? [50, 50];
    change([...corners.slice(0, -1), [within(x + dx), within(y + dy)]], closed, 'corner');
  };
  const add = (corner) => (closed ? say('closed') : change([...corners, corner], false, 'corner'));

  svg.addEventListener('click', (event) => {
    svg.focus({ preventScroll: true });
    if (!closed && closes(event)) close();
    else add(place(event));
  });
  svg.addEventListener('keydown', (event) => {
    const step = event.shiftKey ? WIDE_STEP : STEP;
    const keys = {
      ArrowLeft: () => move(-step, 0), ArrowRight: () => move(step, 0), ArrowUp: () => move(0, -step), ArrowDown: () => move(0, step),
      Enter: () => add(corners.at(-1) ?? [50, 50]), ' ': () => add(corners.at(-1) ?? [50, 50]), Backspace: undo, Delete: undo, End: close,
    };
    if (!keys[event.key] || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    keys[event.key]();
  });
  const acts = { undo, close, again: () => change([], false, 'none') };
  document.querySelectorAll('[data-draw-do]').forEach((button) => button.addEventListener('click', () => acts[button.dataset.drawDo]()));
  text.addEventListener('input', () => { corners = read(text.value); closed = corners.length > 2; paint(); });

  svg.setAttribute('tabindex', '0');
  svg.setAttribute('role', 'application');
  document.querySelectorAll('[data-draw-tools]').forEach((part) => { part.hidden = false; });
  document.querySelectorAll('[data-draw-written]').forEach((part) => { part.open = false; });
  paint();
  if (corners.length) say(closed ? 'closed' : 'corner');
};

document.querySelectorAll('[data-draw]').forEach(bind);
