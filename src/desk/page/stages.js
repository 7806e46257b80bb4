/* Stages: the work in the order in which it is done, and which settings belong to each. A setting
 * stands in the stage that names it, else in that of its group, else in the last: one that is new
 * in the program's table appears here by itself. */

const STAGES = [
  { name: 'picture', title: 'Picture', short: 'bring, crop',
    said: 'What the mural is made after, and which part of it.',
    first: ['turn', 'mirror', 'crop'], rest: ['ground'], groups: [] },
  { name: 'size', title: 'Size', short: 'wall, distance', said: 'How large it hangs, and from where it is looked at.',
    first: ['width', 'distance'], rest: ['height', 'columns', 'rows', 'build'], groups: ['Size'] },
  { name: 'colours', title: 'Colours', short: 'palette, mixing',
    said: 'Which colours there are, and how they are mixed.',
    first: ['palette', 'calm', 'brick-thrift', 'detail'], rest: ['dither', 'tone'], groups: ['Colour'] },
  { name: 'regions', title: 'Regions', short: 'face, sky', said: 'Where errors count more, or less.',
    first: [], rest: ['care', 'regions', 'region-strokes', 'region-labels'], groups: ['Regions'] },
  { name: 'layers', title: 'Relief', short: 'what stands out', said: 'What is raised, and how far.',
    first: ['relief', 'steps'], rest: [], groups: ['Relief'] },
  { name: 'touch', title: 'Touch up', short: 'cell by cell',
    said: 'Single cells, by hand: colours that stay while all the rest is planned anew, and heights.',
    first: [], rest: ['pins', 'cells', 'steps-map'], groups: [] },
  { name: 'bricks', title: 'Bricks', short: 'shelf, panels',
    said: 'What is on the shelf, how it is laid, and what is lifted as one piece.',
    first: ['stock', 'favour', 'panel', 'panel-mass'], rest: [], groups: ['Bricks', 'Panels'] },
  { name: 'offer', title: 'Plan', short: 'price, book', said: 'What it costs, and the plan itself.',
    first: ['budget', 'rate', 'pace', 'builders', 'currency'], rest: [], groups: ['Quote', 'Offer'] },
];

/* The settings of each stage: {first, rest} of rows of the table. */
function sortSettings(table) {
  const sorted = Object.fromEntries(STAGES.map(({ name }) => [name, { first: [], rest: [] }]));
  const named = new Map();
  for (const stage of STAGES) {
    stage.first.forEach((name, i) => named.set(name, [stage.name, 'first', i]));
    stage.rest.forEach((name, i) => named.set(name, [stage.name, 'rest', i]));
  }
  const last = STAGES[STAGES.length - 1].name;
  for (const setting of table) {
    if (setting.name === 'reference') continue;
    const byGroup = STAGES.find(({ groups }) => groups.includes(setting.group));
    const [stage, part, order] = named.get(setting.name) || [byGroup ? byGroup.name : last, 'rest', 99];
    sorted[stage][part].push({ ...setting, order });
  }
  for (const { first, rest } of Object.values(sorted))
    for (const list of [first, rest]) list.sort((a, b) => a.order - b.order);
  return sorted;
}
