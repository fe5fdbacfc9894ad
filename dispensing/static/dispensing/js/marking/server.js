// Talking to the server: results while marks move, and saving. Never more than one request of each kind at a time.
// Moves within one screen frame share a request; the next request waits until the answer has come.
const LIVE_PAUSE_MS = 8;
const SAVE_PAUSE_MS = 350;
const AGAIN_MS = 4000;

const token = () =>
  document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? JSON.parse(document.body.getAttribute("hx-headers"))["X-CSRFToken"];

export class Refused extends Error {
  constructor(status, answer) {
    super(answer.message ?? "The server could not work this out. Your marks are still here; load the page again.");
    this.status = status;
    this.answer = answer;
  }
}

export class SignedOut extends Error {
  constructor() {
    super("You are no longer signed in. Sign in again in a second window, then go on here: your marks are still there.");
  }
}

export const ask = async (url, body, { keepalive = false } = {}) => {
  const response = await fetch(url, {
    method: "POST",
    headers: { "Content-Type": "application/json", "X-CSRFToken": token() },
    body: JSON.stringify(body),
    keepalive,
  });
  if (response.redirected || new URL(response.url).pathname === "/sign-in/") throw new SignedOut();
  const isJson = response.headers.get("Content-Type")?.includes("json");
  if (!isJson && response.status === 403) throw new SignedOut();
  const answer = isJson ? await response.json() : {};
  if (!response.ok) throw new Refused(response.status, answer);
  return answer;
};

// Runs "job" soon after it is asked for, one run at a time, and once more if it was asked for in the meantime.
export class Soon {
  constructor(job, pauseMs) {
    Object.assign(this, { job, pauseMs, timer: null, running: false, wanted: false });
  }

  want(pauseMs = this.pauseMs) {
    this.wanted = true;
    if (this.running || this.timer) return;
    this.timer = setTimeout(() => this.run(), pauseMs);
  }

  get idle() {
    return !this.wanted && !this.running;
  }

  async run() {
    clearTimeout(this.timer);
    this.timer = null;
    if (this.running || !this.wanted) return;
    [this.running, this.wanted] = [true, false];
    const again = await this.job().catch(() => true);
    this.running = false;
    if (again) this.want(AGAIN_MS);
    else if (this.wanted) this.want();
  }
}

export const soonLive = (job) => new Soon(job, LIVE_PAUSE_MS);
export const soonSaved = (job) => new Soon(job, SAVE_PAUSE_MS);
