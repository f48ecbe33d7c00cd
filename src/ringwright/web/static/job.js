// Waits for a longer job: tells its progress, and shows its answer when it has come.

const job = document.getElementById("job");
const words = document.getElementById("job-words");
const seconds = document.getElementById("job-seconds");
const AGAIN = 700;

async function look() {
  try {
    const reply = await fetch(`/job/${job.dataset.job}`, { signal: AbortSignal.timeout(5000), cache: "no-store" });
    if (reply.status === 401) location.assign(`/login?to=${encodeURIComponent(location.pathname + location.search)}`);
    if (reply.status === 404) return location.reload();
    const told = await reply.json();
    if (words.textContent !== told.words) words.textContent = told.words;
    seconds.textContent = told.seconds;
    if (told.ended) return location.reload();
  } catch {
    words.textContent = "The server does not answer. Trying again.";
  }
  setTimeout(look, AGAIN);
}

if (job && ["waiting", "running"].includes(job.dataset.state)) setTimeout(look, AGAIN);
