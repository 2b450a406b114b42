"use strict";
(function () {
  var charts = JSON.parse(document.getElementById("chart-data").textContent);
  var config = { responsive: true, displaylogo: false, modeBarButtonsToRemove: ["select2d", "lasso2d", "autoScale2d"] };
  document.querySelectorAll("details.numbers:not(.stay)").forEach(function (d) { d.open = false; });
  document.querySelectorAll(".needs-script").forEach(function (e) { e.style.display = "block"; });
  Object.keys(charts).forEach(function (id) {
    Plotly.newPlot("plot-" + id, charts[id].data, charts[id].layout, config);
  });
  // a chart wider than the paper would shrink the whole page, and the drawings with it
  function plots() { return Array.prototype.slice.call(document.querySelectorAll(".plot.js-plotly-plot")); }
  window.addEventListener("beforeprint", function () { plots().forEach(function (p) { Plotly.relayout(p, { width: 690, autosize: false }); }); });
  window.addEventListener("afterprint", function () { plots().forEach(function (p) { Plotly.relayout(p, { width: null, autosize: true }); }); });
  var slider = document.getElementById("neck-slider");
  if (!slider) { return; }
  var over = JSON.parse(document.getElementById("slider-data").textContent);
  var told = document.getElementById("neck-told");
  function show() {
    var i = Number(slider.value);
    told.textContent = over.texts[i];
    slider.setAttribute("aria-valuetext", over.texts[i]);
    Plotly.restyle("plot-" + over.chart, { x: [over.utilization[i]] }, [0]);
    Plotly.restyle("plot-" + over.chart, { text: [over.labels[i]] }, [1]);
  }
  slider.addEventListener("input", show);
  show();
})();
