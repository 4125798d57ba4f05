// More rows in the table of readings without asking the server; without scripts its button does.
"use strict";

(function addRows() {
  const button = document.querySelector("[data-more-rows]");
  const table = document.querySelector("[data-rows]");
  if (!button || !table) return;
  const body = table.tBodies[0];
  const count = table.closest("form").elements.rows;
  button.addEventListener("click", (event) => {
    event.preventDefault();
    for (let made = 0; made < 6; made += 1) {
      const number = body.rows.length;
      const row = body.rows[number - 1].cloneNode(true);
      row.cells[0].textContent = String(number + 1);
      for (const input of row.querySelectorAll("input")) {
        input.value = "";
        input.name = input.name.replace(/_\d+$/, `_${number}`);
        input.setAttribute("aria-label", input.getAttribute("aria-label").replace(/\d+$/, String(number + 1)));
      }
      body.append(row);
    }
    count.value = String(body.rows.length);
  });
})();
