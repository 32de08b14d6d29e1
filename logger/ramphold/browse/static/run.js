// Draws the readings of one run or several. uPlot draws axes and lines; what is here fetches the
// readings of the window that is shown, draws line, band and ceiling, and tells the reading at the mark.
"use strict";
(async () => {
  const place = document.getElementById("trace"), plot = place.querySelector(".plot");
  const urls = Object.keys(place.dataset).filter((k) => k.startsWith("run-")).sort().map((k) => place.dataset[k]);
  const rows = [...place.querySelectorAll("#at-mark tbody tr")];
  const told = place.querySelector("[data-thinned]");
  const colour = (name) => getComputedStyle(place).getPropertyValue(name).trim();
  const shown = (value, digits) => value.toLocaleString("en", { minimumFractionDigits: digits, maximumFractionDigits: digits });
  let runs, figure, asked = 0;

  // `shift` is what the times of each run are moved by, so that the ramps begin together.
  const read = async (from, to) => Promise.all(urls.map(async (url, i) => {
    const shift = runs ? runs[i].shift : 0;
    const window = from === undefined ? "" : `?from=${from - shift}&to=${to - shift}`;
    const answer = await fetch(url + window);
    if (!answer.ok) throw new Error(`${answer.status}`);
    return answer.json();
  }));
  const aligned = (found) => {
    const first = found[0].lines.ramp_s;
    return found.map((one, i) => {
      const shift = runs ? runs[i].shift : first === null || one.lines.ramp_s === null ? 0 : first - one.lines.ramp_s;
      return { ...one, shift, t: one.t_s.map((t) => t + shift), psi: one.lbf.map((f) => f === null ? null : f / one.area_in2) };
    });
  };
  const table = () => {
    const all = runs.map((one) => [one.t, one.psi]);
    return all.length > 1 ? uPlot.join(all) : all[0];
  };
  const tell = () => {
    const some = runs.some((one) => one.thinned);
    const empty = runs.filter((one) => !one.t.length).map((one) => `Of run ${one.run} no reading can be shown.`);
    const drawn = some ? "Of all readings, the least and the greatest at each place are drawn; zoom in to see every one." : "Every reading is drawn.";
    told.textContent = [...empty, ...(empty.length < runs.length ? [drawn] : [])].join(" ");
    place.dataset.thinned = some;
  };

  const nearest = (t, times) => {
    let low = 0, high = times.length - 1;
    while (high - low > 1) { const middle = (low + high) >> 1; if (times[middle] < t) low = middle; else high = middle; }
    return high >= 0 && Math.abs(times[high] - t) < Math.abs(times[low] - t) ? high : low;
  };
  const mark = (u) => {
    if (u.cursor.left < 0) return;
    const t = u.posToVal(u.cursor.left, "x");
    runs.forEach((one, i) => {
      if (!one.t.length) return;
      const at = nearest(t, one.t), cells = rows[i].querySelectorAll("td");
      cells[0].textContent = shown(one.t_s[at], 3);
      cells[1].textContent = one.lbf[at] === null ? "–" : shown(one.lbf[at], 1);
      cells[2].textContent = one.psi[at] === null ? "–" : shown(one.psi[at], 1);
      cells[3].textContent = one.qualities[one.quality[at]];
    });
  };

  const behind = (u) => {
    const at = (t, psi) => [u.valToPos(t, "x", true), u.valToPos(psi, "y", true)];
    const c = u.ctx, { left, top, width, height } = u.bbox;
    c.save(); c.beginPath(); c.rect(left, top, width, height); c.clip();
    for (const { lines, shift } of runs) {
      if (lines.band.length) {
        const [x0, y0] = at(lines.band[0] + shift, lines.band[3]), [x1, y1] = at(lines.band[1] + shift, lines.band[2]);
        c.globalAlpha = .2; c.fillStyle = colour("--good"); c.fillRect(x0, y0, x1 - x0, y1 - y0); c.globalAlpha = 1;
      }
      const stroke = (points, ink, dash) => {
        c.strokeStyle = ink; c.lineWidth = 1.5 * devicePixelRatio; c.setLineDash(dash.map((d) => d * devicePixelRatio));
        c.beginPath(); points.forEach(([x, y], i) => i ? c.lineTo(x, y) : c.moveTo(x, y)); c.stroke();
      };
      stroke(lines.corners.map(([t, psi]) => at(t + shift, psi)), colour("--mark"), [7, 4]);
      const y = u.valToPos(lines.ceiling_psi, "y", true);
      stroke([[left, y], [left + width, y]], colour("--bad"), [2, 3]);
    }
    c.restore();
  };

  const limits = () => {
    const times = runs.flatMap((one) => [Math.max(one.lines.begin_s + one.shift, one.t[0] ?? 0), one.t[one.t.length - 1] ?? 1]);
    return [Math.min(...times), Math.max(...times)];
  };
  let whole, view;
  const show = (from, to) => {
    view = [from, to];
    figure.setScale("x", { min: from, max: to });
  };
  const zoom = async (from, to) => {
    from = Math.max(from, whole[0]); to = Math.min(to, whole[1]);
    if (to - from < .05) return;
    const mine = ++asked;
    show(from, to);
    const found = await read(from, to);
    if (mine !== asked) return;
    runs = aligned(found); figure.setData(table(), false); show(from, to);
    tell(); place.dataset.window = `${from} ${to}`;
  };
  const by = (factor) => {
    const { min, max } = figure.scales.x, left = figure.cursor.left;
    const middle = left >= 0 && factor < 1 ? figure.posToVal(left, "x") : (min + max) / 2;
    const half = (max - min) * factor / 2;
    return zoom(middle - half, middle + half);
  };
  const acts = { in: () => by(.5), out: () => by(2), all: () => zoom(...whole) };
  const keys = { "+": acts.in, "=": acts.in, "-": acts.out, Home: acts.all, ArrowLeft: -1, ArrowRight: 1 };

  const options = () => {
    const axis = (label, size) => ({
      label, size, stroke: colour("--soft"), grid: { stroke: colour("--line"), width: 1 }, ticks: { stroke: colour("--line") },
      font: "12px sans-serif", labelFont: "13px sans-serif",
    });
    const top = Math.max(...runs.map((one) => Math.max(one.lines.ceiling_psi, ...one.psi.filter((psi) => psi !== null && psi < 1e6))));
    return {
      width: plot.clientWidth, height: plot.clientHeight, legend: { show: false },
      scales: { x: { time: false }, y: { range: (u, low, high) => {
        if (view[0] <= whole[0] && view[1] >= whole[1] || low === null) return [Math.min(0, low ?? 0), top * 1.05];
        const room = Math.max((high - low) * .15, 20);
        return [low - room, high + room];
      } } },
      axes: [axis("time, s", 44), axis("stress, psi", 66)],
      series: [{}, ...runs.map((_, i) => ({ stroke: colour(`--trace-${i + 1}`), width: 1.5, points: { show: (u) => u.scales.x.max - u.scales.x.min < 3 } }))],
      cursor: { drag: { x: true, y: false, setScale: false }, points: { size: 7 } },
      hooks: {
        drawAxes: [behind], setCursor: [mark],
        setSelect: [(u) => {
          const { left, width } = u.select;
          if (width > 4) zoom(u.posToVal(left, "x"), u.posToVal(left + width, "x"));
          u.setSelect({ left: 0, width: 0, top: 0, height: 0 }, false);
        }],
        draw: [() => { place.dataset.drawnMs ??= performance.now(); }],
      },
    };
  };
  const draw = () => {
    if (figure) figure.destroy();
    view ??= whole;
    figure = new uPlot(options(), table(), plot);
    show(...view);
  };

  try {
    runs = aligned(await read());
  } catch {
    return; // the figure of the report stays
  }
  place.hidden = false; document.getElementById("still").hidden = true;
  whole = limits(); draw(); tell();
  place.querySelectorAll("[data-zoom]").forEach((one) => one.addEventListener("click", acts[one.dataset.zoom]));
  plot.addEventListener("dblclick", acts.all);
  plot.addEventListener("keydown", (event) => {
    const act = keys[event.key];
    if (act === undefined || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    if (typeof act === "function") return act();
    const left = figure.cursor.left < 0 ? 0 : figure.cursor.left + act * (event.shiftKey ? 20 : 2);
    figure.setCursor({ left: Math.min(Math.max(left, 0), figure.over.clientWidth - 1), top: figure.over.clientHeight / 2 });
  });
  addEventListener("resize", () => figure.setSize({ width: plot.clientWidth, height: plot.clientHeight }));
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", draw);
})();
