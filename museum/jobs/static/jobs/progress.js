// Follows a job: moves its gauge, speaks at each quarter and not at every step, loads the page again at the end.

const PAUSE = 1500;
const LONGEST_PAUSE = 30000;

/** @typedef {{state_words: string, done: number, total: number|null, percent: number|null, says: string, over: boolean}} Job */

/** What is shown and what is said of a job. @param {HTMLElement} gauge @param {Job} job */
const show = (gauge, job) => {
  const bar = gauge.querySelector('progress');
  const says = gauge.querySelector('[data-job-says]');
  const state = gauge.querySelector('[data-job-state]');
  const heard = gauge.querySelector('[data-job-heard]');
  const counted = job.total
    ? gauge.dataset.words.replace('%(done)s', String(job.done)).replace('%(total)s', String(job.total))
    : '';
  if (job.percent !== null) bar.value = job.percent;
  says.textContent = `${counted} ${job.says}`.trim();
  state.textContent = job.state_words;
  const quarter = `${job.state_words} ${Math.floor((job.percent ?? 0) / 25) * 25} %`;
  if (gauge.dataset.quarter !== quarter) {
    gauge.dataset.quarter = quarter;
    heard.textContent = quarter;
  }
};

/** Asks again and again, less often while the server does not answer. @param {HTMLElement} gauge */
const follow = async (gauge) => {
  for (let pause = PAUSE; ; ) {
    await new Promise((go) => setTimeout(go, pause));
    try {
      const answer = await fetch(gauge.dataset.job, { headers: { Accept: 'application/json' } });
      if (answer.status === 401 || answer.status === 403 || answer.status === 404) return location.reload();
      if (!answer.ok) throw new Error(String(answer.status));
      const job = await answer.json();
      if (job.over) return location.reload();
      show(gauge, job);
      pause = PAUSE;
    } catch {
      pause = Math.min(pause * 2, LONGEST_PAUSE);
    }
  }
};

document.querySelectorAll('[data-job]').forEach((gauge) => follow(gauge));
