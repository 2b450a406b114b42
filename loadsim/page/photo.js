// Measures a neck and its fillet in a photo by eight points; the shank's diameter is the scale.
"use strict";
(() => {
  const LENS = 0.01;  // what a lens bends and a tilt hides, of a length (common practice, no source)
  const NEED = { neck: 5, fillet: 8 };

  const minus = (a, b) => [a[0] - b[0], a[1] - b[1]];
  const dot = (a, b) => a[0] * b[0] + a[1] * b[1];

  // across the shank: square to its left edge, through the first two points
  const across = (p) => {
    const [x, y] = minus(p[1], p[0]);
    const long = Math.hypot(x, y);
    return [-y / long, x / long];
  };
  const scale = (p, shank) => shank / Math.abs(dot(minus(p[2], p[0]), across(p)));
  const neck = (p, shank) => Math.abs(dot(minus(p[4], p[3]), across(p))) * scale(p, shank);

  // the circle through the last three points
  const fillet = (p, shank) => {
    const [a, b, c] = [p[5], p[6], p[7]];
    const sides = [minus(b, a), minus(c, b), minus(a, c)].map((v) => Math.hypot(v[0], v[1]));
    const u = minus(b, a), v = minus(c, a);
    const twice = Math.abs(u[0] * v[1] - u[1] * v[0]);
    return sides[0] * sides[1] * sides[2] / (2 * twice) * scale(p, shank);
  };

  // how far a size may be off: each coordinate by its pixel, and the lens
  const off = (size, p, shank, pixels) => {
    const here = size(p, shank);
    let sum = (LENS * here) ** 2;
    p.forEach((point, i) => [0, 1].forEach((k) => {
      const moved = p.map((q) => [...q]);
      moved[i][k] += pixels[i];
      const there = size(moved, shank);
      if (Number.isFinite(there)) sum += (there - here) ** 2;
    }));
    return Math.sqrt(sum);
  };

  window.loadsimPhoto = { neck, fillet, off };  // for the tests

  const at = (id) => document.getElementById(id);
  const canvas = at("canvas"), pen = canvas.getContext("2d");
  const unit = document.body.dataset.unit;
  const points = [], pixels = [];
  let image = null;

  const chosen = () => Number(document.querySelector("[name=point]:checked").value);
  const number = (text) => {
    const parts = text.trim().split("/").map(Number);
    return parts.length === 2 ? parts[0] / parts[1] : parts[0];
  };

  const draw = () => {
    if (!image) return;
    pen.drawImage(image, 0, 0);
    const fine = canvas.width / Math.max(canvas.clientWidth, 1);
    points.forEach((p, i) => {
      if (!p) return;
      for (const [color, wide] of [["#fff", 4], ["#c00", 1.5]]) {
        pen.strokeStyle = color;
        pen.lineWidth = wide * fine;
        pen.beginPath();
        pen.moveTo(p[0] - 12 * fine, p[1]); pen.lineTo(p[0] + 12 * fine, p[1]);
        pen.moveTo(p[0], p[1] - 12 * fine); pen.lineTo(p[0], p[1] + 12 * fine);
        pen.stroke();
      }
      pen.font = `${16 * fine}px sans-serif`;
      pen.strokeText(String(i + 1), p[0] + 6 * fine, p[1] - 6 * fine);
    });
  };

  const tell = () => {
    const shank = number(at("shank").value);
    const told = [];
    for (const [name, size] of [["neck", neck], ["fillet", fillet]]) {
      const whole = Array.from({ length: NEED[name] }, (_, i) => points[i]).every(Boolean);
      if (!whole || !(shank > 0)) continue;
      const set = points.slice(0, NEED[name]);
      const value = size(set, shank), give = off(size, set, shank, pixels);
      if (!Number.isFinite(value) || !Number.isFinite(give)) continue;
      const figures = unit === "in" ? 4 : 2;
      told.push(`${name} ${value.toFixed(figures)} ${unit}, give or take ${give.toFixed(figures)}`);
      at(name).value = `${value.toFixed(figures)} ${unit}`;
    }
    at("told").textContent = told.join("; ") || "Set the points, one after the other.";
  };

  const set = (i, x, y) => {
    points[i] = [x, y];
    pixels[i] = Math.max(1, canvas.width / canvas.clientWidth);
    draw();
    tell();
  };

  const place = (event) => {
    const box = canvas.getBoundingClientRect();
    return [(event.clientX - box.left) * canvas.width / box.width,
      (event.clientY - box.top) * canvas.height / box.height];
  };

  let held = -1;
  canvas.addEventListener("pointerdown", (event) => {
    if (!image) return;
    const [x, y] = place(event);
    const near = 14 * canvas.width / canvas.clientWidth;
    held = points.findIndex((p) => p && Math.hypot(p[0] - x, p[1] - y) < near);
    if (held < 0) {
      held = chosen();
      const next = document.querySelector(`[name=point][value="${held + 1}"]`);
      if (next) next.checked = true;
    }
    canvas.setPointerCapture(event.pointerId);
    set(held, x, y);
  });
  canvas.addEventListener("pointermove", (event) => { if (held >= 0) set(held, ...place(event)); });
  canvas.addEventListener("pointerup", () => { held = -1; });

  const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  canvas.addEventListener("keydown", (event) => {
    const step = STEPS[event.key];
    if (!step || !image) return;
    event.preventDefault();
    const i = chosen();
    const [x, y] = points[i] || [canvas.width / 2, canvas.height / 2];
    set(i, x + step[0], y + step[1]);
    pixels[i] = 1;
    tell();
  });

  at("zoom").addEventListener("input", () => { canvas.style.width = `${at("zoom").value * 100}%`; draw(); });
  at("shank").addEventListener("input", tell);
  at("file").addEventListener("change", () => {
    const reader = new FileReader();
    reader.onload = () => {
      const fresh = new Image();
      fresh.onload = () => {
        image = fresh;
        canvas.width = fresh.naturalWidth;
        canvas.height = fresh.naturalHeight;
        points.length = pixels.length = 0;
        canvas.style.width = "100%";
        draw();
      };
      fresh.onerror = () => { at("told").textContent = "This is no picture that the browser can show."; };
      fresh.src = reader.result;
    };
    if (at("file").files[0]) reader.readAsDataURL(at("file").files[0]);
  });
})();
