// While readings are typed: how much they come to so far, and their curve. A help and nothing more:
// what a test proves is worked out by the server. What cannot be read here is passed over.
"use strict";

(function sketchOfReadings() {
  const table = document.querySelector("[data-rows]");
  const figure = document.querySelector("[data-sketch]");
  const said = document.querySelector("[data-live]");
  if (!table || !figure) return;
  const drawing = figure.querySelector("svg");
  const line = new RegExp(`^${table.dataset.line}$`);
  const language = document.documentElement.lang === "en" ? "en-GB" : document.documentElement.lang;
  const SVG = "http://www.w3.org/2000/svg";
  const [WIDTH, HEIGHT, LEFT, TOP, BOTTOM] = [260, 120, 34, 8, 96];

  function hours(text) {
    const [, hour, minute, second] = /^\s*(\d+)[:h](\d{2})(?::(\d{2}))?\s*$/.exec(text) || [];
    return hour === undefined ? null : Number(hour) + Number(minute) / 60 + Number(second || 0) / 3600;
  }

  function number(text) {
    const [, digits, milli] = /^\s*(-?\d+(?:[.,]\d+)?)\s*(m?)[AV]?h?\s*$/.exec(text) || [];
    return digits === undefined ? null : Number(digits.replace(",", ".")) / (milli ? 1000 : 1);
  }

  function readings() {
    const found = [];
    let before = -1;
    for (const row of table.tBodies[0].querySelectorAll("tr:not(.said)")) {
      const [time, amps, volts, , , count] = cells(row);
      let at = hours(time);
      const [current, counted] = [number(amps), number(count)];
      if (at !== null && (current !== null || counted !== null)) {
        while (at <= before) at += 24;
        before = at;
        found.push({ at, current, volts: number(volts), counted });
      }
    }
    return found;
  }

  // The cells of a row; a whole reading that stands in the first is one, too.
  function cells(row) {
    const texts = [...row.querySelectorAll("input")].map((input) => input.value);
    const [, time, rest] = (!texts.slice(1).some(Boolean) && line.exec(texts[0].trim())) || [];
    return time ? [time, ...rest.replaceAll(";", " ").trim().split(/\s+/)] : texts;
  }

  // A counter in every row goes before the currents; between two readings the mean of both currents
  // counts: as on the server.
  function charge(rows) {
    if (rows.every((row) => row.counted !== null)) return Math.abs(rows[rows.length - 1].counted - rows[0].counted);
    const flowing = rows.filter((row) => row.current !== null);
    return flowing.slice(1).reduce((sum, row, i) => sum + ((row.current + flowing[i].current) / 2) * (row.at - flowing[i].at), 0);
  }

  const written = (value, digits) => value.toLocaleString(language, { maximumFractionDigits: digits });

  function add(name, attributes, text = "") {
    const made = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    made.textContent = text;
    drawing.append(made);
  }

  function draw(rows) {
    const withVolts = rows.filter((row) => row.volts !== null);
    const shown = withVolts.length > 1 ? withVolts : rows.filter((row) => row.current !== null);
    figure.hidden = shown.length < 2;
    if (figure.hidden) return;
    const value = (row) => (shown === withVolts ? row.volts : row.current);
    const [low, high] = [Math.min(...shown.map(value)), Math.max(...shown.map(value))];
    const [first, last] = [shown[0].at, shown[shown.length - 1].at];
    const x = (row) => LEFT + ((row.at - first) / (last - first)) * (WIDTH - LEFT - 6);
    const y = (row) => BOTTOM - ((value(row) - low) / (high - low || 1)) * (BOTTOM - TOP);
    drawing.replaceChildren();
    add("path", { class: "frame", d: `M${LEFT} ${TOP}V${BOTTOM}H${WIDTH - 6}` });
    add("polyline", { points: shown.map((row) => `${x(row).toFixed(1)},${y(row).toFixed(1)}`).join(" ") });
    add("text", { x: LEFT - 4, y: TOP + 8, class: "end" }, written(high, 1));
    if (high > low) add("text", { x: LEFT - 4, y: BOTTOM, class: "end" }, written(low, 1));
    add("text", { x: LEFT, y: HEIGHT - 6 }, shown === withVolts ? figure.dataset.sayVolts : figure.dataset.sayAmps);
    add("text", { x: WIDTH - 6, y: HEIGHT - 6, class: "end" }, `${written(last - first, 1)} h`);
  }

  function tell() {
    const rows = readings();
    figure.hidden = rows.length < 2;
    if (said) said.hidden = rows.length < 2;
    if (rows.length < 2) return;
    draw(rows);
    // Where the server has worked it out, its words stand alone.
    if (!said) return;
    const [ah, span] = [written(charge(rows), 1), written(rows[rows.length - 1].at - rows[0].at, 1)];
    said.textContent = said.dataset.say.replace("{ah}", ah).replace("{hours}", span);
  }

  let waiting = 0;

  function soon() {
    clearTimeout(waiting);
    waiting = setTimeout(tell, 150);
  }

  for (const event of ["input", "change", "broughtback"]) table.addEventListener(event, soon);
  tell();
})();
