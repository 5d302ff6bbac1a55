// Photographs of a finding: sent one by one; what was not sent stays chosen, under the key it had, so that nothing is kept twice.

/** @type {WeakMap<File, string>} */
const keys = new WeakMap();
let order = Promise.resolve(true);

/** A key as the server makes them: by time, then by chance. Works over plain http too. */
const newKey = () => {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  const now = Date.now();
  for (let i = 0; i < 6; i += 1) bytes[i] = Math.floor(now / 2 ** (8 * (5 - i))) & 255;
  bytes[6] = (bytes[6] & 15) | 112;
  bytes[8] = (bytes[8] & 63) | 128;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, '0')).join('');
  return hex.replace(/(.{8})(.{4})(.{4})(.{4})(.{12})/, '$1-$2-$3-$4-$5');
};

const keyOf = (file) => keys.get(file) ?? keys.set(file, newKey()).get(file);

const send = (file, input, finding, token) => {
  const body = new FormData();
  const said = { id: keyOf(file), view: 'V13', finding, object: input.dataset.object };
  Object.entries(said).forEach(([name, value]) => body.append(name, value));
  body.append('photo', file);
  return fetch(input.dataset.photo, { method: 'POST', headers: { 'X-CSRFToken': token }, body }).catch(() => null);
};

/** Whether a later try may go through: no signal, a busy or a signed-out server. A refused picture is not sent again. */
const later = (answer) => !answer || answer.status >= 500 || [401, 403, 429].includes(answer.status);

const work = async (form, token) => {
  const input = form.querySelector('[data-photo]');
  const said = form.querySelector('[data-photo-said]');
  if (!input?.files.length) return true;
  const left = new DataTransfer();
  const problems = [];
  let kept = Number(said.dataset.kept ?? 0);
  for (const file of [...input.files]) {
    said.textContent = `${said.dataset.sending} ${input.files.length}`;
    const answer = await send(file, input, form.elements.finding.value, token);
    if (answer?.ok) kept += 1;
    else if (later(answer)) left.items.add(file);
    else problems.push((await answer.json().catch(() => ({}))).detail ?? file.name);
  }
  input.files = left.files;
  said.dataset.kept = kept;
  const lines = [kept && `${said.dataset.sent} ${kept}.`, left.files.length && `${said.dataset.unsent} ${left.files.length}.`, ...problems];
  said.textContent = lines.filter(Boolean).join(' ');
  return left.files.length === 0 && problems.length === 0;
};

/** Sends what is chosen; answers whether all of it is kept. @param {HTMLFormElement} form @param {string} token @returns {Promise<boolean>} */
export const sendChosen = (form, token) => (order = order.then(() => work(form, token)));
