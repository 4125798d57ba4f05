// Draws every chart of the page from its figure, which the page's own address gives as JSON (or which
// stands on the page where that has none to ask), in the colours of the page's look: figures carry the light ones, each of which has a role (app/charts/theme.py names them).
"use strict";

(function drawCharts() {
  const config = { displayModeBar: false, responsive: true, scrollZoom: false, locale: "reader" };
  const places = [...document.querySelectorAll("[data-chart]")];
  if (!places.length) return;
  // What has come so far: paper cannot wait for the rest.
  const figures = new Map();
  let onPaper = false;
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

  // Paper is light, whatever the screen is.
  function draw(place, figure) {
    // When the window changes the library takes the height of what the chart stands in.
    place.style.height = `${figure.layout.height}px`;
    const as = onPaper ? { color: (value) => value, weight: 1, text: 1 } : look(figure.layout.meta.roles);
    const [months, shortMonths] = figure.layout.meta.months;
    const spoken = { ...config, locales: { reader: { dictionary: {}, format: { months, shortMonths } } } };
    Plotly.react(place, worn(figure.data, "data", as), worn(figure.layout, "layout", as), spoken).then(() => {
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

  async function bring(place) {
    const from = place.dataset.chart;
    const here = from.startsWith("#") && document.getElementById(from.slice(1));
    const figure = here ? JSON.parse(here.textContent) : await fetched(from);
    // Otherwise the server's picture stays, which shows the same.
    if (!figure) return;
    figures.set(place, figure);
    draw(place, figure);
  }

  document.body.append(probe);
  places.forEach(bring);
  new MutationObserver(() => drawAgain(false)).observe(document.documentElement, { attributeFilter: ["data-look"] });
  for (const question of ["(prefers-color-scheme: dark)", "(forced-colors: active)", "(prefers-contrast: more)"]) {
    matchMedia(question).addEventListener("change", () => drawAgain(false));
  }
  addEventListener("beforeprint", () => drawAgain(true));
  addEventListener("afterprint", () => drawAgain(false));
})();
