"use strict";
// Titles of columns in their cells, for narrow screens, where a row of a table stands as a card (page.css). Without it
// wide tables scroll sideways.
document.querySelectorAll(".scroll table:not(#ranked)").forEach(table => {
  const titles = [...table.tHead.rows[0].cells].map(cell => cell.textContent);
  table.classList.add("titled");
  for (const row of table.rows) {
    let column = 0;
    for (const cell of row.cells) {
      cell.dataset.title = titles[column] || "";
      column += cell.colSpan;
    }
  }
});
// Sorting, filtering and opening of rows of the ranked table. Without it the table is a plain one and the kits stand
// below it.
(() => {
  const table = document.getElementById("ranked");
  if (!table) return;
  const body = table.tBodies[0], heads = [...table.tHead.rows[0].cells], rows = [...body.rows];
  const isNumber = heads.map(head => head.classList.contains("n"));
  const texts = rows.map(row => [...row.cells].map(cell => cell.textContent.trim()));
  const numbers = texts.map(cells => cells.map(text => text === "" ? NaN : Number(text)));
  const opened = new Map(); // row -> the row that shows its kit
  const make = (name, properties) => Object.assign(document.createElement(name), properties);

  // ---- what is shown ----
  const tools = document.getElementById("table-tools");
  const said = make("p", {role: "status"});
  const all = make("input", {type: "checkbox", id: "all-columns"});
  const label = make("label", {htmlFor: "all-columns", textContent: " all columns"});
  const clear = make("button", {type: "button", textContent: "Clear filters"});
  label.prepend(all);
  tools.append(label, clear, said);
  all.addEventListener("change", () => {
    table.classList.toggle("brief", !all.checked);
    opened.forEach(fit);
  });

  // ---- filters: a text to look for, or >= 120, < 5, 100..120 for numbers ----
  const filterRow = make("tr", {className: "filters"});
  const inputs = heads.map((head, i) => {
    const cell = make("td", {className: head.className});
    const input = make("input", {type: "search", autocomplete: "off", spellcheck: false});
    input.setAttribute("aria-label", "Filter " + head.textContent + (isNumber[i] ? ", such as >=5 or 5..10" : ""));
    input.addEventListener("input", filter);
    cell.append(input);
    filterRow.append(cell);
    return input;
  });
  table.tHead.append(filterRow);
  clear.addEventListener("click", () => { inputs.forEach(input => { input.value = ""; }); filter(); });

  function test(text, column) {
    const range = /^(-?[\d.]+)\s*\.\.\s*(-?[\d.]+)$/.exec(text), bound = /^(<=|>=|<|>|=)\s*(-?[\d.]+)$/.exec(text);
    if (isNumber[column] && range) {
      const [from, to] = [Number(range[1]), Number(range[2])];
      return i => numbers[i][column] >= from && numbers[i][column] <= to;
    }
    if (isNumber[column] && bound) {
      const value = Number(bound[2]);
      return {"<": i => numbers[i][column] < value, ">": i => numbers[i][column] > value,
              "<=": i => numbers[i][column] <= value, ">=": i => numbers[i][column] >= value,
              "=": i => numbers[i][column] === value}[bound[1]];
    }
    const wanted = text.toLowerCase();
    return i => texts[i][column].toLowerCase().includes(wanted);
  }

  function filter() {
    const tests = inputs.map((input, i) => input.value.trim() && test(input.value.trim(), i)).filter(Boolean);
    let left = 0;
    rows.forEach((row, i) => {
      row.hidden = !tests.every(passes => passes(i));
      left += row.hidden ? 0 : 1;
      if (opened.has(row)) opened.get(row).hidden = row.hidden;
    });
    said.textContent = left === rows.length ? rows.length + " kits" : left + " of " + rows.length + " kits";
  }

  // ---- sorting: once up, once down, empty cells last, equals as they were ranked ----
  function sort(column) {
    const down = heads[column].getAttribute("aria-sort") === "ascending";
    heads.forEach(head => head.removeAttribute("aria-sort"));
    heads[column].setAttribute("aria-sort", down ? "descending" : "ascending");
    const compare = (a, b) => {
      const [x, y] = [texts[a][column], texts[b][column]];
      if (x === "" || y === "") return (x === "") - (y === "") || a - b;
      const order = isNumber[column] ? numbers[a][column] - numbers[b][column] : x.localeCompare(y, "en");
      return (down ? -order : order) || a - b;
    };
    rows.map((_, i) => i).sort(compare).forEach(i => {
      body.append(rows[i]);
      if (opened.has(rows[i])) body.append(opened.get(rows[i]));
    });
    said.textContent = "Sorted by " + heads[column].textContent + (down ? ", descending" : ", ascending");
  }
    heads.forEach((head, i) => {
    const button = make("button", {type: "button"});
    button.append(...head.childNodes);
    button.addEventListener("click", () => sort(i));
    head.append(button);
  });
  heads[0].setAttribute("aria-sort", "ascending");

  // ---- a rank opens its kit below its row; the kit's section lends it and gets it back ----
  function fit(shown) {
    shown.firstChild.colSpan = heads.filter(head => head.offsetParent !== null).length || heads.length;
  }
  function toggle(row, button, details) {
    const shown = opened.get(row);
    if (shown) {
      details.append(shown.querySelector(".kit"));
      shown.remove();
      opened.delete(row);
    } else {
      const below = make("tr", {}), cell = make("td", {className: "opened"});
      cell.append(details.querySelector(".kit"));
      below.append(cell);
      row.after(below);
      opened.set(row, below);
      fit(below);
    }
    details.hidden = !shown;
    button.setAttribute("aria-expanded", String(!shown));
  }
  table.querySelectorAll("tbody a[href^='#kit-']").forEach(link => {
    const details = document.querySelector(link.getAttribute("href")), row = link.closest("tr");
    if (!details) return;
    const button = make("button", {type: "button", className: "open", textContent: link.textContent});
    button.setAttribute("aria-label", "Curves of kit " + link.textContent);
    button.setAttribute("aria-expanded", "false");
    button.addEventListener("click", () => toggle(row, button, details));
    link.replaceWith(button);
  });
  filter();
})();
