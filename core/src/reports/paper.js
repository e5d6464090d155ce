// Lays a paper out on pages: each has its line with aircraft, paper, version, date and number, and a table that goes on
// has its name again. Sizes are those of paper.css, small enough for A4 and for letter paper alike. Everything is
// measured first, then moved: what is printed is what was measured, in any engine.

// A page that is filled less is nearly empty: the page before it gives some of its rows.
const LEAST = 0.25;
// Between two papers on one page, px.
const GAP = 24;
// The line that names a table that goes on, px.
const NAME = 28;

// What may stand on a page by itself: a block, the heading of a table, or a row of one.
function units(section) {
  const all = [];
  const put = (node, more) => {
    const { top, bottom } = node.getBoundingClientRect();
    all.push({ node, top, bottom, height: bottom, ...more });
  };
  for (const node of section.children) {
    const table = node.matches(".paper-wide") ? node.querySelector("table") : null;
    if (!table) {
      const next = node.nextElementSibling;
      const leads = node.matches("h1, h2, h2 + .paper-caution") || next?.matches("figure, .paper-wide, .paper-card, .paper-contents");
      put(node, { keep: Boolean(leads && next) });
      continue;
    }
    freeze(table);
    const rows = [...table.tBodies[0].rows];
    put(table.tHead, { table, keep: true });
    const head = all.at(-1).bottom - all.at(-1).top + NAME;
    let group = null;
    rows.forEach((row, n) => {
      const names = row.matches(".paper-group");
      group = names ? row : group;
      // Two rows at least stay with the heading, and two go on together.
      const edge = n === 0 || n === rows.length - 2;
      put(row, { table, row, group, head, names, keep: n + 1 < rows.length && (names || edge) });
    });
  }
  return all;
}

// Columns keep their widths when rows leave the table. A table wider than the page first breaks its short cells, then
// its words, and is set in smaller type.
function freeze(table) {
  const room = table.parentElement.getBoundingClientRect().width + 1;
  // Short cells that break take room from none, or make more lines: whichever is lower.
  const [whole, broken] = ["", "tight"].map((tight) => {
    table.className = tight;
    return table.getBoundingClientRect().height;
  });
  table.className = broken < whole ? "tight" : "";
  for (const tight of ["tight", "tighter", "tightest"]) {
    if (table.getBoundingClientRect().width <= room) {
      break;
    }
    table.className = tight;
  }
  const cells = [...table.tHead.rows].at(-1).cells;
  const columns = document.createElement("colgroup");
  for (const cell of cells) {
    const column = document.createElement("col");
    column.style.width = `${cell.getBoundingClientRect().width}px`;
    columns.append(column);
  }
  table.prepend(columns);
  table.style.tableLayout = "fixed";
}

// Where pages begin, if a page holds `most` px or what `rooms` has for it: first units, each with the height of its page.
function fill(all, most, rooms = []) {
  const pages = [];
  for (let at = 0; at < all.length; ) {
    const first = all[at];
    const room = rooms[pages.length] ?? most;
    // A row that goes on has the heading of its table above it.
    const start = first.top - (first.row && at > 0 ? first.head : 0);
    let end = at;
    for (let n = at; n < all.length && all[n].bottom - start <= room; n += 1) {
      if (!all[n].keep || n === all.length - 1) {
        end = n + 1;
      }
    }
    // What cannot be kept together, or is higher than any page, begins one all the same.
    for (let n = at; end === at && n < all.length && (n === at || all[n].bottom - start <= room); n += 1) {
      if (n + 1 === all.length || all[n + 1].bottom - start > room) {
        end = n + 1;
      }
    }
    end = Math.max(end, at + 1);
    pages.push({ at, end, height: all[end - 1].bottom - start });
    at = end;
  }
  return pages;
}

// The same with as much left for a page as it takes not to be nearly empty: the page before it holds less.
function fillWell(all, room) {
  let pages = fill(all, room);
  const rooms = [];
  for (let n = 1; n < pages.length; n += 1) {
    const isFull = (it) => it[n].height >= room * LEAST;
    for (let less = room; !isFull(pages) && less > room / 2; less -= room / 50) {
      const fewer = [...rooms];
      fewer[n - 1] = less;
      const tried = fill(all, room, fewer);
      if (tried.length === pages.length && isFull(tried)) {
        rooms[n - 1] = less;
        pages = tried;
      }
    }
  }
  return pages;
}

// Puts units into the body of a page.
function put(body, all, { at, end }) {
  let [from, rows] = [null, null];
  for (const unit of all.slice(at, end)) {
    if (!unit.table) {
      body.append(unit.node);
    } else if (unit.table !== from) {
      from = unit.table;
      const table = from.cloneNode(false);
      const wide = document.createElement("div");
      wide.className = "paper-wide";
      const head = from.tHead.cloneNode(true);
      table.append(from.querySelector("colgroup").cloneNode(true), head);
      rows = table.createTBody();
      wide.append(table);
      body.append(wide);
      if (unit.row) {
        goesOn(head, unit);
      }
    }
    if (unit.row) {
      rows.append(unit.row);
    }
  }
}

// The name of a table, and of the group of its first row, above a part of it that is not its first.
function goesOn(head, unit) {
  const own = head.querySelector(".paper-group th");
  if (own) {
    own.textContent += ", continued";
    return;
  }
  const group = unit.names ? null : unit.group?.textContent;
  const row = head.insertRow(0);
  row.className = "paper-group";
  const cell = document.createElement("th");
  cell.colSpan = [...head.rows].at(-1).cells.length;
  cell.textContent = `${[unit.table.dataset.name, group].filter(Boolean).join(": ")}, continued`;
  row.append(cell);
}

function layOut(root) {
  const head = root.querySelector(":scope > .paper-head");
  if (!head) {
    return;
  }
  head.remove();
  const sections = [...root.querySelectorAll(":scope > section")];
  const isAcross = (section) => section.matches(".paper-sheet, .paper-landscape");
  root.classList.toggle("all-across", sections.every(isAcross));
  const measured = sections.map((section) => ({ section, all: units(section) }));
  const what = head.querySelector(".paper-name").textContent;
  const pages = [];
  const begun = new Map();
  let name = "";
  let last = null;
  for (const { section, all } of measured) {
    const kind = section.className;
    const shape = document.createElement("section");
    shape.className = `paper-page ${kind}`;
    const [inside, body] = ["paper-inside", "paper-body"].map((name) => {
      const part = document.createElement("div");
      part.className = name;
      return part;
    });
    inside.append(head.cloneNode(true), body);
    shape.append(inside);
    root.append(shape);
    // What lies across an upright page is measured as it is laid out, not as it is turned.
    const room = body.offsetHeight;
    shape.remove();
    const begins = section.dataset.begins;
    name = section.dataset.name ?? name;
    const parts = fillWell(all, room);
    parts.forEach((part, n) => {
      const joins =
        begins && parts.length === 1 && last?.kind === kind && !kind.includes("paper-sheet") && last.left > part.height + GAP;
      if (!joins) {
        const page = shape.cloneNode(true);
        last = { page, kind, left: room, names: [] };
        pages.push(last);
        root.append(page);
      }
      if (n === 0 && begins) {
        begun.set(begins, pages.length);
      }
      if (!last.names.includes(name)) {
        last.names.push(name);
      }
      last.left -= part.height + (joins ? GAP : 0);
      const into = last.page.querySelector(".paper-body");
      if (joins) {
        into.lastElementChild.style.marginBottom = `${GAP}px`;
      }
      put(into, all, part);
    });
    section.remove();
  }
  pages.forEach(({ page, names }, n) => {
    page.querySelector(".paper-name").textContent = [what, names.filter(Boolean).join("; ")].filter(Boolean).join(": ");
    page.querySelector(".paper-number").textContent = `page ${n + 1} of ${pages.length}`;
  });
  for (const place of root.querySelectorAll("[data-page-of]")) {
    place.textContent = begun.get(place.dataset.pageOf) ?? "";
  }
  // Not every engine gives the first page the shape of what is on it: the styles say it of all that it stands in.
  document.documentElement.dataset.paper = pages[0]?.kind ?? "";
}

if (document.body.matches(".on-paper")) {
  // No feature test tells that an engine takes no shape of a page from styles.
  if (navigator.vendor.startsWith("Apple")) {
    document.documentElement.dataset.engine = "webkit";
  }
  layOut(document.body);
}
// The app fills in a paper before it is printed.
addEventListener("lay-out-paper", () => {
  const root = document.querySelector("#paper > .on-paper");
  delete document.documentElement.dataset.paper;
  if (root) {
    root.parentElement.classList.add("is-measured");
    layOut(root);
    root.parentElement.classList.remove("is-measured");
  }
});
