// Paints one outline drawing as a photograph would show it: colours by zone, light, floor, scale, card, and what ails it, always the same
// for the same seed. Given: window.paint(asked) with asked = {drawing, colours, dark, gloss, harm, crop, unit, number, view}.
const INK = "#201c17";
const SVG = "http://www.w3.org/2000/svg";
const WIDE = 704;
const HIGH = 720;
const LINES = { l: 0.6, f: 0.45, h: 0.28, d: 0.18 };

/** Numbers from 0 to 1, the same ones for the same seed. */
function dice(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
}

/** A round spot with an uneven edge. */
function spot(roll, x, y, radius, fill, opacity, tall) {
  const turn = roll() * 6.283;
  const edge = Array.from({ length: 14 }, (_none, n) => {
    const reach = radius * (0.55 + 0.6 * roll());
    return [x + reach * Math.cos(turn + (n / 14) * 6.283), y + reach * Math.sin(turn + (n / 14) * 6.283) * tall];
  });
  const middle = (one, two) => `${((one[0] + two[0]) / 2).toFixed(2)} ${((one[1] + two[1]) / 2).toFixed(2)}`;
  const curves = edge.map((point, n) => `Q${point[0].toFixed(2)} ${point[1].toFixed(2)} ${middle(point, edge[(n + 1) % 14])}`);
  return `<path d="M${middle(edge[13], edge[0])}${curves.join("")}Z" fill="${fill}" opacity="${opacity}"/>`;
}

const shapes = (drawing, code, side) =>
  drawing.zones.filter((zone) => zone.code === code && (!side || zone.side === side)).flatMap((zone) => zone.paths.filter((path) => path[0].startsWith("a")).map((path) => path[2]));

function along(d, share) {
  const path = document.createElementNS(SVG, "path");
  path.setAttribute("d", d);
  const point = path.getPointAtLength(path.getTotalLength() * share);
  return [point.x, point.y];
}

/** A film over an area: dust, tarnish. */
function veil(harm, roll) {
  return Array.from({ length: harm.n }, () => {
    const x = harm.box[0] + roll() * (harm.box[2] - harm.box[0]);
    const y = harm.box[1] + roll() ** (harm.top ?? 1) * (harm.box[3] - harm.box[1]);
    return spot(roll, x, y, (harm.r ?? 6) * (0.4 + roll() * 1.2), harm.fill[Math.floor(roll() * harm.fill.length)], harm.a * (0.5 + roll() * 0.7), 0.7);
  }).join("");
}

/** Spots along the edge of a zone, or about points: rust, soap, powder, finger marks; each in coats from the ground up. */
function spots(harm, roll, drawing) {
  const edges = shapes(drawing, harm.zone, harm.side);
  return Array.from({ length: harm.n }, () => {
    let x, y;
    if (harm.at) {
      const about = harm.at[Math.floor(roll() * harm.at.length)];
      x = about[0] + (roll() - 0.5) * harm.spread * 2;
      y = about[1] + (roll() - 0.5) * harm.spread * 2;
    } else {
      const edge = edges[Math.floor(roll() * edges.length)];
      [x, y] = along(edge, harm.from + (harm.to - harm.from) * roll());
      x += (roll() - 0.5) * harm.spread;
      y += (roll() - 0.5) * harm.spread - (harm.up ?? 0) * roll();
    }
    const radius = harm.r * (0.35 + roll() * roll() * 1.5);
    const coat = ([fill, size, opacity]) => spot(roll, x + (roll() - 0.5) * radius * 0.25, y + (roll() - 0.5) * radius * 0.25, radius * size, fill, opacity, harm.tall ?? 1);
    return harm.coats.map(coat).join("");
  }).join("");
}

function body(asked) {
  const { drawing, colours, dark } = asked;
  const area = (d, fill) => `<path d="${d}" fill="${fill}" fill-rule="evenodd" stroke="${INK}" stroke-width="1.3"/>`;
  const one = (code, [kind, , d]) => {
    if (kind === "hit") return "";
    if (kind === "a") return area(d, colours[code] ?? colours.SH);
    if (kind === "a dk") return area(d, dark[code] ?? dark.SH);
    if (kind === "k") return `<path d="${d}" fill="${INK}" opacity=".8"/>`;
    if (kind === "s") return `<path d="${d}" fill="none" stroke="${INK}" stroke-width=".8" stroke-dasharray="3 2.4" opacity=".7"/>`;
    return `<path d="${d}" fill="none" stroke="${INK}" stroke-width=".75" opacity="${LINES[kind] ?? 0.3}"/>`;
  };
  const ground = `<path d="${drawing.sil}" fill="${INK}" stroke="${INK}" stroke-width="3.4"/>`;
  const zones = drawing.zones.map((zone) => zone.paths.map((path) => one(zone.code, path)).join("")).join("");
  return ground + zones + drawing.lines.map(([, , d]) => `<path d="${d}" fill="none" stroke="${INK}" stroke-width=".7" opacity=".5"/>`).join("");
}

const stop = (offset, colour, opacity) => `<stop offset="${offset}" stop-color="${colour}" stop-opacity="${opacity}"/>`;

function defs(asked) {
  const all = asked.drawing.zones.flatMap((zone) => zone.paths.filter((path) => path[0].startsWith("a")).map((path) => `<path d="${path[2]}"/>`)).join("");
  return `<defs><clipPath id="whole"><path d="${asked.drawing.sil}" clip-rule="evenodd"/></clipPath><clipPath id="zones">${all}</clipPath>
    <radialGradient id="wall" cx=".5" cy=".45" r=".75">${stop(0, "#cfcdc7", 1)}${stop(1, "#a19f98", 1)}</radialGradient>
    <radialGradient id="light" gradientUnits="userSpaceOnUse" cx="140" cy="120" r="250">${stop(0, "#fff", asked.gloss)}${stop(0.45, "#fff", 0)}${stop(1, "#000", 0.42)}</radialGradient>
    <radialGradient id="floor">${stop(0, "#000", 0.5)}${stop(0.6, "#000", 0.3)}${stop(1, "#000", 0)}</radialGradient></defs>`;
}

/** Scale of ten centimetres, or of one where it is seen from near; number and view on a card. */
function foot(asked) {
  const [left, top, long, cells] = [192, 666, asked.crop ? (asked.unit * WIDE) / asked.crop[2] : 320, asked.crop ? 2 : 10];
  const cell = (n) => `<rect x="${left + (n * long) / cells}" y="${top}" width="${long / cells}" height="10" fill="${n % 2 ? "#fff" : "#111"}" stroke="#111" stroke-width=".8"/>`;
  const sheet = asked.crop ? `<rect y="640" width="${WIDE}" height="80" fill="#e9e7e1"/>` : "";
  return `${sheet}${Array.from({ length: cells }, (_none, n) => cell(n)).join("")}
    <g font-family="DejaVu Sans" font-size="13" fill="#222"><text x="${left}" y="694">0</text><text x="${left + long - 4}" y="694" text-anchor="middle">${asked.crop ? 1 : 10} cm</text></g>
    <rect x="548" y="656" width="140" height="48" fill="#fff" stroke="#888"/><text x="618" y="677" font-family="DejaVu Sans Mono" font-size="15" font-weight="700" text-anchor="middle">${asked.number}</text>
    <text x="618" y="695" font-family="DejaVu Sans" font-size="11" text-anchor="middle">${asked.view}, drawn</text>`;
}

window.paint = (asked) => {
  const [left, top, wide] = asked.crop ?? [0, 8, 400];
  const grown = WIDE / wide;
  const harm = asked.harm.map((one) => (one.box ? veil(one, dice(one.seed)) : spots(one, dice(one.seed), asked.drawing))).join("");
  const shadow = asked.crop ? "" : '<ellipse cx="200" cy="352" rx="140" ry="15" fill="url(#floor)"/>';
  document.body.innerHTML = `<svg xmlns="${SVG}" width="${WIDE}" height="${HIGH}">${defs(asked)}<rect width="${WIDE}" height="${HIGH}" fill="url(#wall)"/>
    <g transform="translate(${-left * grown} ${-top * grown}) scale(${grown})">${shadow}${body(asked)}<g clip-path="url(#whole)">${harm}</g>
    <rect width="400" height="400" fill="url(#light)" clip-path="url(#zones)"/></g>${foot(asked)}</svg>`;
};
