// The table of readings: more rows without asking the server, and cells pasted from a spreadsheet
// spread over it. Without scripts its button and the paste field do the same.
"use strict";

(function typedReadings() {
  const button = document.querySelector("[data-more-rows]");
  const table = document.querySelector("[data-rows]");
  if (!button || !table) return;
  const body = table.tBodies[0];
  const count = table.closest("form").elements.rows;
  // Rows that say what is wrong with the one above are no rows of readings.
  const typedRows = () => [...body.rows].filter((row) => !row.matches(".said"));

  function addRow() {
    const rows = typedRows();
    const number = rows.length;
    const row = rows[number - 1].cloneNode(true);
    row.cells[0].textContent = String(number + 1);
    for (const input of row.querySelectorAll("input")) {
      const name = input.name.replace(/_\d+$/, `_${number}`);
      Object.assign(input, { value: "", name, id: name });
      input.removeAttribute("aria-invalid");
      input.removeAttribute("aria-describedby");
      input.setAttribute("aria-label", input.getAttribute("aria-label").replace(/\d+$/, String(number + 1)));
    }
    body.append(row);
    count.value = String(number + 1);
  }

  button.addEventListener("click", (event) => {
    event.preventDefault();
    for (let made = 0; made < 6; made += 1) addRow();
  });

  table.addEventListener("paste", (event) => {
    const lines = event.clipboardData.getData("text").replace(/\s+$/, "").split(/\r?\n/);
    if (lines.length === 1 && !lines[0].includes("\t")) return;
    event.preventDefault();
    const cell = event.target.closest("td");
    const firstRow = typedRows().indexOf(cell.parentNode);
    lines.forEach((line, down) => {
      while (typedRows().length <= firstRow + down) addRow();
      line.split("\t").forEach((text, right) => {
        const target = typedRows()[firstRow + down].cells[cell.cellIndex + right];
        if (target) target.querySelector("input").value = text.trim();
      });
    });
  });
})();

// A file that would be refused for its size is said before it travels.
(function fileSize() {
  const field = document.querySelector("input[type=file][data-most-mb]");
  if (!field) return;
  field.addEventListener("change", () => {
    const file = field.files[0];
    const most = Number(field.dataset.mostMb);
    const mb = file ? file.size / 1e6 : 0;
    field.setCustomValidity(mb > most ? `This file has ${mb.toFixed(0)} MB; at most ${most} MB can be read.` : "");
    field.reportValidity();
  });
})();
