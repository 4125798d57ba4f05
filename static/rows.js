// The table of readings: more rows without asking the server, cells pasted from a spreadsheet
// spread over it, and Enter leads to the next cell, as the key of a phone's keyboard says. The
// counter's column comes when it is asked for, or when something is put into it. Times are
// continued by a button; a whole reading in the first cell is spread over its row. Without scripts
// the buttons, the paste field and the server do the same.
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

  // A whole reading in the first cell: 14:30 9 13.2
  const line = table.dataset.line && new RegExp(`^${table.dataset.line}$`);

  function spread(input) {
    const cells = [...input.closest("tr").querySelectorAll("input")];
    const [, time, rest] = (line && line.exec(input.value.trim())) || [];
    if (!time || input !== cells[0] || cells.slice(1).some((cell) => cell.value)) return false;
    [time, ...rest.replaceAll(";", " ").trim().split(/\s+/)].forEach((text, at) => {
      cells[at].value = text;
    });
    unfoldIfFilled();
    table.dispatchEvent(new Event("input"));
    return true;
  }

  const filler = document.querySelector("[data-fill-times]");
  const filled = count.form.elements.filled_times;
  const firstCells = () => typedRows().map((row) => row.querySelector("input"));
  const minutes = (text) => {
    const [, hour, minute] = /^\s*(\d+):(\d{2})\s*$/.exec(text) || [];
    return hour === undefined ? null : Number(hour) * 60 + Number(minute);
  };
  const clock = (total, like) => {
    const onClock = like.trim().indexOf(":") === 2;
    const at = onClock ? total % 1440 : total;
    const hour = String(Math.floor(at / 60));
    return `${onClock ? hour.padStart(2, "0") : hour}:${String(at % 60).padStart(2, "0")}`;
  };

  // The times to go on from: the last of those that stand there without a gap, and the step.
  function series() {
    const times = firstCells().map((input) => input.value.trim());
    const gap = times.indexOf("");
    const begun = gap < 0 ? times.length : gap;
    const known = times.slice(Math.max(begun - 2, 0), begun).map(minutes);
    if (!known.length || known.includes(null)) return null;
    const step = known.length === 2 ? (known[1] - known[0] + 1440) % 1440 : 60;
    return step ? { begun, step, last: known[known.length - 1], from: times[begun - 1], like: times[0] } : null;
  }

  function nameFiller() {
    const from = series();
    if (!from) return;
    const words = from.step === 60 ? filler.dataset.sayHour : filler.dataset.sayStep;
    const step = from.step % 60 ? `${from.step} min` : `${from.step / 60} h`;
    filler.textContent = words.replace("{time}", from.from).replace("{step}", step);
  }

  if (filler) {
    filler.addEventListener("click", (event) => {
      const from = series();
      // What cannot be read here the server reads, or says what it needs.
      if (!from) return;
      event.preventDefault();
      if (from.begun === typedRows().length) addUpTo(from.begun + 6);
      const empty = firstCells().slice(from.begun);
      const end = empty.findIndex((input) => input.value.trim());
      for (const [at, input] of empty.slice(0, end < 0 ? undefined : end).entries()) {
        input.value = clock(from.last + (at + 1) * from.step, from.like);
        filled.value = `${filled.value} ${input.value}`.trim();
      }
      table.dispatchEvent(new Event("input"));
      const amps = typedRows().map((row) => row.querySelectorAll("input")[1]);
      (amps.slice(from.begun - 1).find((input) => !input.value) || filler).focus();
    });
    table.addEventListener("input", nameFiller);
    table.addEventListener("broughtback", nameFiller);
    nameFiller();
  }

  table.addEventListener("change", (event) => spread(event.target));
  table.addEventListener("rowswanted", (event) => addUpTo(event.detail));
  table.addEventListener("broughtback", unfoldIfFilled);

  table.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.isComposing || !event.target.matches("input")) return;
    event.preventDefault();
    // Spread over its row, a reading is complete: the next one is typed.
    const from = spread(event.target) ? [...event.target.closest("tr").querySelectorAll("input")].filter((input) => input.getClientRects().length).pop() : event.target;
    const at = cells().indexOf(from);
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
