/* Awake: keeps the screen on while the bench is seen, where the browser can (W3C Screen Wake Lock).
 * The lock is lost whenever the page is hidden, and taken again when it is seen. */

class Awake {
  constructor() {
    this.wanted = false;
    this.lock = null;
    document.addEventListener('visibilitychange', () => this.settle());
  }
  want(wanted) {
    this.wanted = wanted;
    this.settle();
  }
  get held() { return Boolean(this.lock && !this.lock.released); }
  async settle() {
    if (!navigator.wakeLock || this.asking) return;
    const wanted = this.wanted && !document.hidden;
    if (wanted === this.held) return;
    this.asking = true;
    /* The device may refuse, as on a low battery; it is asked again when the bench is next opened. */
    try {
      if (wanted) this.lock = await navigator.wakeLock.request('screen');
      else await this.lock.release();
    } catch {
      this.wanted = false;
    }
    this.asking = false;
    await this.settle();
  }
}
