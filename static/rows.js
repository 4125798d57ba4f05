// The table of readings: more rows without asking the server, cells pasted from a spreadsheet
// spread over it, and Enter leads to the next cell, as the key of a phone's keyboard says. Without
// scripts its button and the paste field do the same.
"use strict";

(function typedReadings() {
  const button = document.querySelector("[data-more-rows]");
  const table = document.querySelector("[data-rows]");
  if (!button || !table) return;
  const body = table.tBodies[0];
  const count = table.closest("form").elements.rows;
  // Rows that say what is wrong with the one above are no rows of readings.
  const typedRows = () => [...body.rows].filter((row) => !row.matches(".said"));
  const cells = () => [...body.querySelectorAll("input")];
  const leadOn = (input) => input.setAttribute("enterkeyhint", "next");

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

  function addUpTo(wanted) {
    while (typedRows().length < wanted) addRow();
  }

  cells().forEach(leadOn);
  button.addEventListener("click", (event) => {
    event.preventDefault();
    addUpTo(typedRows().length + 6);
  });

  table.addEventListener("rowswanted", (event) => addUpTo(event.detail));

  table.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.isComposing || !event.target.matches("input")) return;
    event.preventDefault();
    const at = cells().indexOf(event.target);
    if (at + 1 === cells().length) addRow();
    cells()[at + 1].focus();
  });

  table.addEventListener("paste", (event) => {
    const lines = event.clipboardData.getData("text").replace(/\s+$/, "").split(/\r?\n/);
    if (lines.length === 1 && !lines[0].includes("\t")) return;
    event.preventDefault();
    const cell = event.target.closest("td");
    const firstRow = typedRows().indexOf(cell.parentNode);
    addUpTo(firstRow + lines.length);
    const rows = typedRows();
    lines.forEach((line, down) => {
      line.split("\t").forEach((text, right) => {
        const target = rows[firstRow + down].cells[cell.cellIndex + right];
        if (target) target.querySelector("input").value = text.trim();
      });
    });
    table.dispatchEvent(new Event("input"));
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
    const words = field.dataset.sayLarge.replace("{size}", mb.toFixed(0)).replace("{most}", most);
    field.setCustomValidity(mb > most ? words : "");
    field.reportValidity();
  });
})();
