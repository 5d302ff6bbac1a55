// A waiting time that runs: always reckoned from the clock of the house, so a tablet that slept is right again at once.
// Without this script the page says until when to wait.

const said = (milliseconds) => {
  const seconds = Math.ceil(milliseconds / 1000);
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')}`;
};

for (const shown of document.querySelectorAll('[data-wait-until]')) {
  const ahead = new Date(shown.dataset.now).getTime() - Date.now();
  const until = new Date(shown.dataset.waitUntil).getTime();
  const tell = () => {
    const left = until - (Date.now() + ahead);
    shown.hidden = false;
    if (left > 0) {
      shown.textContent = said(left);
      return;
    }
    shown.setAttribute('role', 'status');
    shown.textContent = shown.dataset.over;
    clearInterval(ticking);
  };
  const ticking = setInterval(tell, 1000);
  document.addEventListener('visibilitychange', tell);
  tell();
}
