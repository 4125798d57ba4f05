// Draws every chart of the page from the JSON that stands beside it.
"use strict";

(function drawCharts() {
  const config = { displayModeBar: false, responsive: true, scrollZoom: false };
  for (const place of document.querySelectorAll("[data-chart]")) {
    const figure = JSON.parse(document.getElementById(place.dataset.chart).textContent);
    Plotly.newPlot(place, figure.data, figure.layout, config).then(() => {
      place.dataset.drawn = "true";
    });
  }
})();
