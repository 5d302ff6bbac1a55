// Marks the page once scripts run, and binds small behaviours to data- attributes. Everything works without them.

/** Hides what does not match what is typed. @param {HTMLInputElement} box */
const filter = (box) => {
  const list = document.querySelector(box.dataset.filter ?? '');
  box.addEventListener('input', () => {
    const wanted = box.value.trim().toLowerCase();
    list?.querySelectorAll('[data-words]').forEach((row) => {
      row.toggleAttribute('hidden', !row.dataset.words.toLowerCase().includes(wanted));
    });
  });
};

/** Sends a form as soon as a choice changes. @param {HTMLFormElement} form */
const sendOnChange = (form) => form.addEventListener('change', () => form.requestSubmit());

/** Takes the reader to what is wrong, before anything else is read. @param {HTMLElement} notice */
const focus = (notice) => notice.focus();

const behaviours = { '[data-filter]': filter, '[data-send-on-change]': sendOnChange, '[data-focus]': focus };

/** Binds the behaviours within a part of the page; called again after a part is replaced. @param {ParentNode} root */
export const bind = (root) => {
  for (const [selector, behaviour] of Object.entries(behaviours)) {
    root.querySelectorAll(selector).forEach((element) => {
      if (element.dataset.bound) return;
      element.dataset.bound = '1';
      behaviour(element);
    });
  }
};

bind(document);
document.body.dataset.ready = '1';
