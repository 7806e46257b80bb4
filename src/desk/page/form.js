/* Form: a field for each setting, made from the program's table: its name, help, range, choices and
 * unit. What a field is set to is the program's to judge; what it says against a text stands under
 * the field. */

const nameOf = (setting) => setting.name.replace(/-/g, ' ');

/* Lengths as people say them: "1200mm" is "1.2 m". */
function lengthText(text) {
  const mm = parseFloat(text);
  if (!text.endsWith('mm') || !(mm > 0)) return text === '0mm' ? '' : text;
  return mm >= 1000 ? `${+(mm / 1000).toFixed(4)} m` : `${+mm.toFixed(2)} mm`;
}

/* Settings are called here as their fields are. */
const asFields = (text) => text.replace(/--([a-z-]+)/g, (_, name) => name.replace(/-/g, ' '));

const isShare = (s) => s.type === 'number' && s.least === 0 && s.most === 1;

/* What there is to type, where that does not show. */
function rangeText(s) {
  if (s.type === 'length') return s.most < 1e5 ? `${lengthText(`${s.least}mm`)} to ${lengthText(`${s.most}mm`)}` : '';
  if (s.type === 'mass') return `${s.least} to ${plain(s.most)} kg`;
  if (s.type !== 'whole' && s.type !== 'number') return '';
  if (s.most >= 1e5) return s.least > 0 ? `from ${s.least}` : '';
  return `${s.least} to ${plain(s.most)}${s.choices ? ` or ${s.choices}` : ''}`;
}

/* A dab of an ink. */
function makeMark(ink) {
  const mark = make('i', 'mark');
  mark.style.background = ink;
  return mark;
}

/* A choice of a few; each is [value, text]. markOf: what stands before the text, or null. */
function makeRadios(name, said, choices, chosen, act, markOf = () => null) {
  return make('fieldset', 'modes brushes', make('legend', '', said), ...choices.map(([value, text]) => {
    const input = make('input');
    Object.assign(input, { type: 'radio', name, value, checked: String(value) === String(chosen) });
    input.addEventListener('change', () => act(input.value));
    return make('label', '', input, make('span', '', ...[markOf(value)].filter(Boolean), text));
  }));
}

/* A field: element, show(text), focused(). */
class Field {
  constructor(setting, form) {
    this.setting = setting;
    this.form = form;
    this.id = `set-${setting.name}`;
    const help = make('small', 'help', this.helpText());
    help.id = `${this.id}-help`;
    this.wrong = make('small', 'wrong');
    this.wrong.id = `${this.id}-wrong`;
    this.wrong.hidden = true;
    this.element = this.makeElement(help);
    this.element.append(help, this.wrong);
  }
  helpText() {
    const help = asFields(this.setting.help);
    const range = isShare(this.setting) ? '' : rangeText(this.setting);
    return `${help[0].toUpperCase()}${help.slice(1)}${range && `; ${range}`}.`;
  }
  describe(input, id = this.id) {
    input.id = id;
    input.setAttribute('aria-describedby', `${this.id}-help ${this.id}-wrong`);
    return input;
  }
  labelled(input, ...more) {
    const label = make('label', '', nameOf(this.setting));
    label.htmlFor = input.id;
    return make('div', `entry ${this.setting.type}`, label, input, ...more);
  }
  put(text) {
    this.sent = text;
    this.form.change({ [this.setting.name]: text });
  }
  accuse(text) {
    this.wrong.textContent = text;
    this.wrong.hidden = !text;
    for (const input of this.element.querySelectorAll('input, select'))
      input.setAttribute('aria-invalid', text ? 'true' : 'false');
  }
  focused() { return this.element.contains(document.activeElement); }
}

/* Numbers, lengths, masses, texts. */
class TextField extends Field {
  makeElement() {
    const input = this.input = this.describe(make('input'));
    input.type = 'text';
    if (this.setting.type === 'whole' && !this.setting.choices) input.inputMode = 'numeric';
    if (this.setting.type === 'number') input.inputMode = 'decimal';
    input.addEventListener('change', () => this.put(input.value.trim()));
    return this.labelled(input);
  }
  show(text) {
    const { type } = this.setting;
    const none = (type === 'whole' && text === '0') || (type === 'mass' && parseFloat(text) === 0);
    const said = type === 'length' ? lengthText(text) : none ? '' : text;
    this.input.value = said;
    this.input.placeholder = said ? '' : 'not given';
  }
}

/* A share from 0 to 1: a slider. While it is held all its changes are one version. */
class ShareField extends Field {
  makeElement() {
    const input = this.input = this.describe(make('input'));
    Object.assign(input, { type: 'range', min: 0, max: 1, step: 0.05 });
    this.said = make('output');
    this.said.htmlFor.add(this.id);
    const begin = () => { if (!this.held) { this.held = true; this.form.changes.beginGesture(); } };
    input.addEventListener('input', () => {
      begin();
      this.said.value = input.value;
      this.put(input.value);
    });
    input.addEventListener('change', () => {
      this.held = false;
      this.form.changes.endGesture();
    });
    const element = this.labelled(input, this.said);
    element.classList.add('share');
    return element;
  }
  show(text) {
    if (this.held) return;
    this.input.value = text;
    this.said.value = text;
  }
}

class SwitchField extends Field {
  makeElement() {
    const input = this.input = this.describe(make('input'));
    input.type = 'checkbox';
    input.addEventListener('change', () => this.put(input.checked ? 'yes' : 'no'));
    return this.labelled(input);
  }
  show(text) { this.input.checked = text === 'yes'; }
}

class ChoiceField extends Field {
  makeElement() {
    const radiosOf = this.setting.choices.split('|').map((choice) => {
      const input = this.describe(make('input'), `${this.id}-${choice}`);
      Object.assign(input, { type: 'radio', name: this.id, value: choice });
      input.addEventListener('change', () => this.put(choice));
      return make('label', '', input, make('span', '', choice.replace(/-/g, ' ')));
    });
    return make('fieldset', 'entry modes', make('legend', '', nameOf(this.setting)), ...radiosOf);
  }
  show(text) { for (const input of this.element.querySelectorAll('input')) input.checked = input.value === text; }
}

class FileField extends Field {
  makeElement() {
    const input = this.input = this.describe(make('input', 'unseen'));
    input.type = 'file';
    input.addEventListener('change', () => {
      if (input.files[0]) this.form.bring(this.setting.name, input.files[0]);
      input.value = '';
    });
    this.held = make('span', 'held');
    const choose = make('label', 'button', 'Bring');
    choose.htmlFor = this.id;
    this.drop = makeButton(['Take away'], () => this.put(''), `Take ${nameOf(this.setting)} away`);
    const name = make('span', 'name', nameOf(this.setting));
    input.setAttribute('aria-label', `${nameOf(this.setting)}: bring a file`);
    return make('div', 'entry file', name, this.held, input, choose, this.drop);
  }
  show(text) {
    this.held.textContent = text || 'none';
    this.drop.hidden = !text;
  }
}

const fieldOf = (setting, form) => {
  const kinds = { file: FileField, switch: SwitchField, choice: ChoiceField };
  const Kind = isShare(setting) ? ShareField : kinds[setting.type] || TextField;
  return new Kind(setting, form);
};

/* The fields of the stage that is open. */
class Form {
  constructor(desk, table) {
    this.desk = desk;
    this.sorted = sortSettings(table);
    this.fields = new Map();
    this.changes = new Changes((error, settings) => this.refused(error, settings),
      (settings) => Object.keys(settings).forEach((name) => this.accuse(name, '')));
    byId('form').addEventListener('submit', (event) => event.preventDefault());
  }
  isEmpty(stage) { return !this.sorted[stage].first.length && !this.sorted[stage].rest.length; }
  open(stage) {
    const { first, rest } = this.sorted[stage];
    this.fields.clear();
    const list = (settings) => settings.map((setting) => {
      const field = fieldOf(setting, this);
      this.fields.set(setting.name, field);
      return field.element;
    });
    const parts = list(first);
    if (rest.length) {
      const more = make('details', 'more', make('summary', '', 'More'), ...list(rest));
      more.open = this.opened === stage;
      more.addEventListener('toggle', () => { this.opened = more.open ? stage : ''; });
      parts.push(more);
    }
    byId('form').replaceChildren(...parts);
  }
  /* Texts as the program has them; what is being typed stays. */
  show(settings) {
    this.texts = settings;
    for (const [name, field] of this.fields) {
      const typing = field.focused() && field instanceof TextField && field.input.value.trim() !== field.sent;
      if (!typing) field.show(settings[name] || '');
    }
  }
  change(settings, what) { this.changes.put(settings, what); }
  /* A file for a setting, and others that change with it; see Changes. */
  bring(name, content, settings, what) { return this.changes.bring(name, content, settings, what); }
  accuse(name, text) {
    const field = this.fields.get(name);
    if (field) field.accuse(text);
    return Boolean(field);
  }
  refused(error, settings) {
    const known = Object.keys(settings).some((name) => this.accuse(name, error.message));
    if (known) this.desk.say(error.message);
    else this.desk.fault(error.message);
  }
}
