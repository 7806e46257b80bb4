/* Talk: requests to the desk's server. Each answer is JSON; what is refused comes as a fault of one
 * line, which is thrown. */

async function answerOf(response) {
  const type = response.headers.get('Content-Type') || '';
  const body = type.startsWith('application/json') ? await response.json() : {};
  if (!response.ok) {
    const error = new Error(body.fault || `The desk answered ${response.status}; open its link again.`);
    error.refused = response.status;
    throw error;
  }
  return body;
}

const ask = async (path, signal) => answerOf(await fetch(path, { signal }));

const tell = async (path, body = {}) => answerOf(await fetch(path, {
  method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body),
}));

/* Brings a file; with hold it is kept for a change that names it, which is what is returned. */
const bring = async (setting, blob, hold = '') =>
  answerOf(await fetch(`/file?setting=${encodeURIComponent(setting)}${hold && '&hold=1'}`, {
  method: 'POST', headers: { 'Content-Type': 'application/octet-stream' }, body: blob,
}));

/* Changes go one after another, and of those that wait only the last of each setting is sent. */
class Changes {
  constructor(onFault, onSent) {
    this.waiting = null;
    this.gesture = 0;
    this.sending = false;
    this.onFault = onFault;
    this.onSent = onSent;
  }
  /* A gesture is one drag: all its changes are one version. */
  beginGesture() { this.gesture = Math.floor(Math.random() * 1e9) + 1; }
  endGesture() { this.gesture = 0; }
  put(settings, what = undefined, gesture = this.gesture) {
    if (this.waiting && this.waiting.gesture === gesture) {
      Object.assign(this.waiting.settings, settings);
      this.waiting.what = what;
    }
    else if (this.waiting) this.waiting.next = { settings, what, gesture };
    else this.waiting = { settings: { ...settings }, what, gesture };
    this.send();
  }
  async send() {
    if (this.sending) return;
    this.sending = true;
    while (this.waiting) {
      const { settings, what, gesture, next } = this.waiting;
      this.waiting = next || null;
      try {
        await tell('/change', { settings, what, gesture });
        this.onSent(settings);
      } catch (error) {
        this.onFault(error, settings);
      }
    }
    this.sending = false;
  }
}
