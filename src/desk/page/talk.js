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

/* Bytes that came as base64. A plain loop: a face waits for it. */
function bytesOf(base64) {
  const text = atob(base64);
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < bytes.length; i++) bytes[i] = text.charCodeAt(i);
  return bytes;
}

/* Brings a file, and makes a change of it and of what else `change` sets; or keeps it for a later one
 * that names it. How that names it is returned. What is sent is best an array of bytes or a text: a blob
 * takes another way round through the browser's other processes. */
const sendFile = async (setting, content, more) =>
  answerOf(await fetch(`/file?setting=${encodeURIComponent(setting)}&${more}`, {
  method: 'POST', headers: { 'Content-Type': 'application/octet-stream' }, body: content,
}));
const bring = (setting, content, change = {}) =>
  sendFile(setting, content, `change=${encodeURIComponent(JSON.stringify(change))}`);
const keepFile = (setting, content) => sendFile(setting, content, 'hold=1');

/* Changes go one after another, and of those that wait only the last of each setting is sent. */
class Changes {
  constructor(onFault, onSent) {
    this.waiting = [];
    this.gesture = 0;
    this.sending = false;
    this.onFault = onFault;
    this.onSent = onSent;
  }
  /* A gesture is one drag: all its changes are one version. */
  beginGesture() { this.gesture = Math.floor(Math.random() * 1e9) + 1; }
  endGesture() { this.gesture = 0; }
  put(settings, what = undefined, gesture = this.gesture) {
    const last = this.waiting[this.waiting.length - 1];
    if (last && !last.file && last.gesture === gesture) {
      Object.assign(last.settings, settings);
      last.what = what;
    } else this.waiting.push({ settings: { ...settings }, what, gesture });
    this.send();
  }
  /* With a file for one more setting. How it is called, or null where it was refused. */
  bring(setting, content, settings = {}, what = undefined) {
    return new Promise((done) => {
      this.waiting.push({ settings, what, gesture: 0, file: { setting, content, done } });
      this.send();
    });
  }
  async send() {
    if (this.sending) return;
    this.sending = true;
    while (this.waiting.length) await this.sendOne(this.waiting.shift());
    this.sending = false;
  }
  async sendOne({ file, ...change }) {
    const settings = file ? { ...change.settings, [file.setting]: '' } : change.settings;
    try {
      const answer = await (file ? bring(file.setting, file.content, change) : tell('/change', change));
      this.onSent(settings);
      file?.done(answer.name);
    } catch (error) {
      this.onFault(error, settings);
      file?.done(null);
    }
  }
}
