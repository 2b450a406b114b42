"use strict";
(function () {
  var charts = JSON.parse(document.getElementById("chart-data").textContent);
  var config = { responsive: true, displaylogo: false, modeBarButtonsToRemove: ["select2d", "lasso2d", "autoScale2d"] };
  document.documentElement.className += " scripted";
  var folded = Array.prototype.slice.call(document.querySelectorAll("details.numbers:not(.stay), .full details.appendix"));
  folded.forEach(function (d) { d.open = false; });
  // a phone shows the headings alone; paper shows all
  var folds = Array.prototype.slice.call(document.querySelectorAll("details.fold"));
  if (window.matchMedia("(max-width: 40em)").matches) { folds.forEach(function (d) { d.open = false; }); }
  var shut = [];
  window.addEventListener("beforeprint", function () { shut = folds.filter(function (d) { return !d.open; }); shut.forEach(function (d) { d.open = true; }); });
  window.addEventListener("afterprint", function () { shut.forEach(function (d) { d.open = false; }); });
  document.querySelectorAll(".needs-script").forEach(function (e) { e.style.display = "block"; });
  Object.keys(charts).forEach(function (id) {
    var plot = document.getElementById("plot-" + id);
    // what is folded has no width yet
    var fold = plot.closest("details.appendix");
    function draw() { Plotly.newPlot(plot, charts[id].data, charts[id].layout, config); }
    if (!fold || fold.open) { draw(); } else { fold.addEventListener("toggle", draw, { once: true }); }
  });
  if (document.body.classList.contains("full")) {
    window.addEventListener("beforeprint", function () { folded.forEach(function (d) { d.open = true; }); });
    window.addEventListener("afterprint", function () { folded.forEach(function (d) { d.open = false; }); });
  }
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
