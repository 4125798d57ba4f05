// The table of readings: more rows without asking the server, cells pasted from a spreadsheet
// spread over it, and Enter leads to the next cell, as the key of a phone's keyboard says. The
// counter's column comes when it is asked for, or when something is put into it. Without scripts
// the buttons and the paste field do the same.
"use strict";

(function typedReadings() {
  const button = document.querySelector("[data-more-rows]");
  const table = document.querySelector("[data-rows]");
  if (!button || !table) return;
  const body = table.tBodies[0];
  const count = table.closest("form").elements.rows;
  // Rows that say what is wrong with the one above are no rows of readings.
  const typedRows = () => [...body.rows].filter((row) => !row.matches(".said"));
  const all = () => [...body.querySelectorAll("input")];
  // A folded column is passed over.
  const cells = () => all().filter((input) => input.getClientRects().length);
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

  const unfolder = document.querySelector("[data-unfold]");

  function unfold() {
    table.classList.remove("fold");
    count.form.elements.count.value = "yes";
    if (unfolder) unfolder.hidden = true;
  }

  function unfoldIfFilled() {
    if (all().some((input) => input.value && input.closest(".folded"))) unfold();
  }

  all().forEach(leadOn);
  unfolder?.addEventListener("click", (event) => {
    event.preventDefault();
    unfold();
    body.querySelector(".folded input").focus();
  });
  button.addEventListener("click", (event) => {
    event.preventDefault();
    addUpTo(typedRows().length + 6);
  });

  table.addEventListener("rowswanted", (event) => addUpTo(event.detail));
  table.addEventListener("broughtback", unfoldIfFilled);

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
    unfoldIfFilled();
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
