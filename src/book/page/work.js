/* Work: one panel's steps, which of them is lit, and the acts that led there, so that each can be
 * taken back. It knows nothing of how it is shown.
 *
 * An act is {kind, cursor, set, laid}: where the light was before it, the bricks that it changed,
 * and what it made of them, 1 laid or 0 not. A jump changes none. Taking back an act brings all
 * three to what they were, so nothing that was laid before is touched. */

class Work {
  constructor(plan, progress) {
    Object.assign(this, { plan, progress, panel: null, mode: MODES[0], past: [] });
  }
  open(panel, mode) {
    this.panel = panel;
    this.mode = MODES.includes(mode) ? mode : MODES[0];
    this.restart();
  }
  /* Cuts the steps anew and goes to the first that is not laid. */
  restart() {
    this.steps = makeSteps(this.plan, this.panel, this.mode);
    this.past = [];
    this.cursor = this.firstOpen(0);
    this.countBag();
  }
  get ended() { return this.cursor >= this.steps.count; }
  get lead() { return this.ended ? -1 : this.stepBricks(this.cursor)[0]; }
  isLit(i) { return this.steps.step[i - this.panel.first] === this.cursor; }
  stepBricks(k) { return this.steps.order.subarray(this.steps.start[k], this.steps.start[k + 1]); }
  /* Its bricks but for those that stand. */
  toLay(k) { return this.stepBricks(k).filter((i) => !this.progress.stands[i]); }
  /* The first step from k on with a brick that is not laid; then from the start; else
   * the number of steps. */
  firstOpen(k) {
    const { order, start, step } = this.steps;
    const { laid } = this.progress;
    for (let n = start[k] || 0; n < order.length; n++)
      if (!laid[order[n]]) return step[order[n] - this.panel.first];
    return k > 0 ? this.firstOpen(0) : this.steps.count;
  }

  /* ---- acts ---- */

  act(kind, bricks, laid) {
    const set = [...bricks].filter((i) => this.progress.laid[i] !== laid && !this.progress.stands[i]);
    this.past.push({ kind, cursor: this.cursor, set, laid });
    this.setAll(set, laid);
  }
  setAll(bricks, laid) {
    for (const i of bricks) {
      this.progress.set(i, laid);
      this.bag.left[this.plan.colour[i] * 256 + this.plan.size[i]] += laid ? -1 : 1;
    }
    if (bricks.length) this.progress.save(this.panel);
  }
  forward() {
    if (this.ended) return;
    this.act('step', this.stepBricks(this.cursor), 1);
    this.cursor = this.firstOpen(this.cursor + 1 < this.steps.count ? this.cursor + 1 : 0);
  }
  jump(step) {
    if (step === this.cursor) return;
    this.act('jump', [], 1);
    this.cursor = step;
  }
  /* Marks all before the lit step as laid. */
  layBefore() { this.act('mark', this.steps.order.subarray(0, this.steps.start[this.cursor]), 1); }
  /* Takes back what is lit; its light stays. */
  unlay() { if (!this.ended) this.act('mark', this.stepBricks(this.cursor), 0); }
  anew() {
    this.act('mark', this.steps.order, 0);
    this.cursor = this.firstOpen(0);
  }
  canGoBack() { return this.past.length > 0 || this.cursor > 0; }
  /* Takes back the last act; where none is known, as after a reload, the step before the light. */
  back() {
    if (!this.canGoBack()) return;
    const last = this.past.pop();
    this.cursor = last ? last.cursor : this.cursor - 1;
    const set = last ? last.set : this.toLay(this.cursor).filter((i) => this.progress.laid[i]);
    this.setAll(set, last ? 1 - last.laid : 0);
  }

  /* The panel's bricks by colour and size but for those that stand: in all, and not laid. */
  countBag() {
    const { plan, panel, progress } = this;
    const bag = { all: new Int32Array(65536), left: new Int32Array(65536), keys: [] };
    for (let i = panel.first; i < panel.first + panel.count; i++) {
      if (progress.stands[i]) continue;
      const key = plan.colour[i] * 256 + plan.size[i];
      if (!bag.all[key]++) bag.keys.push(key);
      if (!progress.laid[i]) bag.left[key]++;
    }
    bag.keys.sort((a, b) => a - b);
    bag.colours = new Set(bag.keys.map((key) => key >> 8));
    this.bag = bag;
  }
}
