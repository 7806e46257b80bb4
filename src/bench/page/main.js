/* Main: on the page of a build book, the share, the crew and photographs; else the list of plans. */

async function listPlans() {
  const { plans, pairing } = await ask('/plans');
  byId('plans').replaceChildren(...plans.map(({ name, bricks, laid }, i) => {
    const book = make('a', '', name);
    book.href = `/book?plan=${i}`;
    const wall = make('a', 'small', 'wall for visitors');
    wall.href = `/book?plan=${i}&wall=1`;
    const labels = make('a', 'small', 'labels to print');
    labels.href = `/labels?plan=${i}`;
    const said = make('span', '', ` ${plain(laid)} of ${plain(bricks)} bricks laid `);
    return make('li', '', book, said, wall, ' ', labels);
  }));
  byId('pairing').textContent = pairingText(pairing);
}

function joinBook(book) {
  const query = new URLSearchParams(window.location.search);
  const share = new Share(book, query.get('plan'));
  window.share = share;
  if (query.get('wall')) showVisitors(share);
  else {
    window.crew = new Crew(share);
    window.photograph = new Photograph(share);
  }
  const panel = book.plan.panels.find(({ name }) => name === query.get('panel'));
  if (panel) book.openPanel(panel.index);
  share.begin();
}

if (window.book) joinBook(window.book);
else listPlans();
