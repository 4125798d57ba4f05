// Draws a chart over its server's picture when somebody wants it, from its figure, which the page's own address gives as JSON (or which
// stands on the page where that has none to ask), in the colours of the page's look: figures carry the light ones, each of which has a role (app/charts/theme.py names them).
"use strict";

(function drawCharts() {
  const config = { displayModeBar: false, scrollZoom: false, locale: "reader" };
  const library = document.currentScript.dataset.library;
  const places = [...document.querySelectorAll("[data-chart]")];
  if (!places.length) return;
  // What has come so far: paper cannot wait for the rest.
  const figures = new Map();
  const wanted = new Map();
  let onPaper = false;
  let loading = null;
  const probe = document.createElement("span");
  probe.hidden = true;
  probe.style.forcedColorAdjust = "none";

  function rootStyle(name) {
    return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  }

  // As rgb(), whatever the style sheet names it, because the library knows no system colours.
  function resolved(name) {
    probe.style.color = `var(${name})`;
    return getComputedStyle(probe).color;
  }

  function channels(color) {
    return color.match(/[\d.]+/g).map(Number);
  }

  // What stands for each light colour now; newer tests are drawn nearer to the last of two colours.
  function look(roles) {
    const now = new Map(Object.entries(roles.colors).map(([light, role]) => [light, resolved(role)]));
    const [oldest, newest] = ["--chart-oldest", "--chart-newest"].map((name) => channels(resolved(name)));
    const [from, to] = roles.age.map(channels);
    const aged = (color) => {
      const share = (channels(color)[0] - from[0]) / (to[0] - from[0]);
      return `rgb(${oldest.slice(0, 3).map((part, i) => Math.round(part + share * (newest[i] - part)))})`;
    };
    return {
      color: (value) => now.get(value) ?? (/^rgb\(\d+, \d+, \d+\)$/.test(value) ? aged(value) : value),
      weight: Number(rootStyle("--chart-weight")) || 1,
      text: Number(rootStyle("--chart-text")) || 1,
    };
  }

  // A copy in which colours, lines and letters are those of the look; data are left alone.
  function worn(value, key, as, inside) {
    if (typeof value === "string") return /color$/.test(key) ? as.color(value) : value;
    if (typeof value === "number") {
      const line = (key === "width" && inside === "line") || key === "thickness" || key === "arrowwidth" || key === "gridwidth";
      if (line && inside !== "colorbar") return value * as.weight;
      return key === "size" && inside !== "marker" ? value * as.text : value;
    }
    if (key === "colorscale") return value.map(([share, color]) => [share, as.color(color)]);
    if (Array.isArray(value)) {
      const plain = typeof value[0] !== "object" || value[0] === null || Array.isArray(value[0]);
      return plain ? value : value.map((one) => worn(one, key, as, inside));
    }
    if (value === null || typeof value !== "object") return value;
    return Object.fromEntries(Object.entries(value).map(([name, one]) => [name, worn(one, name, as, key)]));
  }

  // Names of axes where the server's picture has them: of those upwards above them, of the others at their right end; dates need none.
  function titled(layout) {
    const notes = [];
    const axes = Object.entries(layout).filter(([name]) => /^[xy]axis\d*$/.test(name));
    for (const [name, axis] of axes) {
      const upright = name.startsWith("y");
      const id = name.replace("axis", "");
      const above = (layout.annotations ?? []).filter((one) => one.yref === "paper").map((one) => one.yshift + 17);
      const over = id === "y" ? Math.max(0, ...above) : 0;
      const besideY = { xref: "paper", x: 0, xanchor: "left", xshift: 2 - layout.margin.l };
      const onY = { yref: `${id} domain`, y: 1, yanchor: "bottom", yshift: 7 + over };
      const ofX = `${axis.anchor ?? "y"} domain`;
      const besideX = { xref: `${id} domain`, x: 1, xanchor: "right", yref: ofX };
      const belowX = { y: 0, yanchor: "top", yshift: -22 };
      const place = upright ? { ...besideY, ...onY } : { ...besideX, ...belowX };
      if (axis.title?.text && axis.type !== "date") notes.push({ ...place, text: axis.title.text, showarrow: false, borderpad: 0 });
    }
    const bare = axes.map(([name, axis]) => [name, { ...axis, title: { text: "" } }]);
    return { ...layout, ...Object.fromEntries(bare), annotations: [...(layout.annotations ?? []), ...notes] };
  }

  // Paper is light, whatever the screen is.
  function draw(place, figure) {
    // When its size changes the library takes the height of what the chart stands in.
    place.style.height = `${figure.layout.height}px`;
    const as = onPaper ? { color: (value) => value, weight: 1, text: 1 } : look(figure.layout.meta.roles);
    const [months, shortMonths] = figure.layout.meta.months;
    const spoken = { ...config, locales: { reader: { dictionary: {}, format: { months, shortMonths } } } };
    const layout = worn(titled(figure.layout), "layout", as);
    // A mouse may draw a frame around some years; a finger moves the page, and has the buttons.
    if (layout.xaxis.fixedrange === false && matchMedia("(pointer: fine)").matches) layout.dragmode = "zoom";
    if (place.dataset.drawn) layout.xaxis.range = place.layout.xaxis.range;
    return Plotly.react(place, worn(figure.data, "data", as), layout, spoken).then(() => {
      place.dataset.drawn = "true";
    });
  }

  function drawAgain(paper) {
    onPaper = paper;
    figures.forEach((figure, place) => draw(place, figure));
  }

  // Null where the figure cannot be had: the server away, signed out, the link ended.
  async function fetched(address) {
    try {
      const answer = await fetch(address);
      return answer.ok ? await answer.json() : null;
    } catch {
      return null;
    }
  }

  // The library is large: it comes once, with the first chart that somebody wants.
  function loaded() {
    loading ??= new Promise((done, failed) => {
      const script = document.createElement("script");
      Object.assign(script, { src: library, onload: done, onerror: failed });
      document.head.append(script);
    });
    return loading;
  }

  async function bring(place) {
    const from = place.dataset.chart;
    const here = from.startsWith("#") && document.getElementById(from.slice(1));
    const [figure] = await Promise.all([here ? JSON.parse(here.textContent) : fetched(from), loaded().catch(() => null)]);
    // Otherwise the server's picture stays, which shows the same.
    if (!figure || !window.Plotly) return;
    figures.set(place, figure);
    await draw(place, figure);
  }

  function want(place) {
    if (!wanted.has(place)) wanted.set(place, bring(place));
    return wanted.get(place);
  }

  // Years as milliseconds: a half or double of them around their middle, or a third on.
  async function zoom(place, way) {
    await want(place);
    if (!place.dataset.drawn) return;
    const whole = figures.get(place).layout.xaxis.range.map((day) => Date.parse(day));
    const [from, to] = place.layout.xaxis.range.map((day) => Date.parse(day));
    const [half, middle] = [(to - from) / 2, (from + to) / 2];
    const step = { earlier: -half / 1.5, later: half / 1.5 } [way] ?? 0;
    const reach = half * ({ closer: 0.5, wider: 2 } [way] ?? 1);
    const least = Math.min(whole[1] - whole[0], 90 * 24 * 3600e3) / 2;
    const kept = Math.min(Math.max(reach, least), (whole[1] - whole[0]) / 2);
    const at = Math.min(Math.max(middle + step, whole[0] + kept), whole[1] - kept);
    const range = way === "all" ? whole : [at - kept, at + kept];
    await Plotly.relayout(place, { "xaxis.range": range.map((day) => new Date(day).toISOString().slice(0, 10)) });
  }

  // On a machine that has plenty of everything charts come by themselves, when it has nothing else to do.
  function isFast() {
    return navigator.hardwareConcurrency >= 8 && (navigator.deviceMemory ?? 8) >= 8 && !navigator.connection?.saveData;
  }

  document.body.append(probe);
  for (const place of places) {
    // A finger that only moves the page wants nothing of it; one that taps does.
    place.addEventListener("pointerenter", (event) => event.pointerType !== "touch" && want(place));
    place.addEventListener("focus", () => want(place));
    place.addEventListener("click", () => want(place));
    const buttons = place.parentElement.querySelector(".zoom");
    if (!buttons) continue;
    buttons.hidden = false;
    buttons.addEventListener("click", (event) => event.target.dataset.zoom && zoom(place, event.target.dataset.zoom));
  }
  const comes = isFast() && "requestIdleCallback" in window;
  // What is folded has no size yet: it is drawn when it unfolds.
  const folded = (place) => place.closest("details:not([open])");
  if (comes) requestIdleCallback(() => places.filter((one) => !folded(one)).forEach(want));
  for (const place of places) {
    if (comes) place.closest("details")?.addEventListener("toggle", () => folded(place) || want(place));
    // The window, the look of the page, and folds change it.
    new ResizeObserver(() => place.dataset.drawn && place.clientWidth && Plotly.Plots.resize(place)).observe(place);
  }
  new MutationObserver(() => drawAgain(false)).observe(document.documentElement, { attributeFilter: ["data-look"] });
  for (const question of ["(prefers-color-scheme: dark)", "(forced-colors: active)", "(prefers-contrast: more)"]) {
    matchMedia(question).addEventListener("change", () => drawAgain(false));
  }
  addEventListener("beforeprint", () => drawAgain(true));
  addEventListener("afterprint", () => drawAgain(false));
})();
