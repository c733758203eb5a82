(function () {
  var map = document.getElementById('map'), form = document.querySelector('form.find'), scale = document.querySelector('.scale');
  if (!map) { return; }
  var all = map.getAttribute('viewBox').split(' ').map(Number), box = all.slice(), found = document.getElementById('found'), at = null;
  form.hidden = false;
  function show() {
    map.setAttribute('viewBox', box.join(' '));
    var size = map.getBoundingClientRect(), k = Math.max(box[2] / size.width, box[3] / size.height);
    map.style.setProperty('--k', k);
    var bar = Math.pow(10, Math.floor(Math.log10(size.width * k / 3)));
    scale.style.width = (bar / k) + 'px';
    scale.firstChild.textContent = Number(bar.toPrecision(1)) + ' m';
    if (at) { found.setAttribute('visibility', 'visible'); found.style.transform = 'translate(' + at[0] + 'px,' + at[1] + 'px) scale(' + k + ')'; }
  }
  function zoom(factor, x, y) {
    box = [x - (x - box[0]) * factor, y - (y - box[1]) * factor, box[2] * factor, box[3] * factor];
    show();
  }
  function place(event) {
    var p = new DOMPoint(event.clientX, event.clientY).matrixTransform(map.getScreenCTM().inverse());
    return [p.x, p.y];
  }
  form.querySelectorAll('[data-zoom]').forEach(function (button) {
    button.addEventListener('click', function () {
      var factor = Number(button.dataset.zoom);
      if (factor === 0) { box = all.slice(); show(); } else { zoom(factor, box[0] + box[2] / 2, box[1] + box[3] / 2); }
    });
  });
  map.addEventListener('wheel', function (event) {
    if (!event.ctrlKey) { if (!event.shiftKey) { return; } }
    event.preventDefault();
    var p = place(event);
    zoom((event.deltaY || event.deltaX) > 0 ? 1.25 : 0.8, p[0], p[1]);
  }, { passive: false });
  map.addEventListener('dblclick', function (event) { var p = place(event); zoom(0.5, p[0], p[1]); });
  var from = null, down = [0, 0];
  map.addEventListener('pointerdown', function (event) {
    from = place(event); down = [event.clientX, event.clientY]; map.setPointerCapture(event.pointerId);
  });
  map.addEventListener('pointermove', function (event) {
    if (!from) { return; }
    var p = place(event);
    box[0] += from[0] - p[0]; box[1] += from[1] - p[1];
    show();
  });
  map.addEventListener('pointerup', function (event) {
    from = null;
    if (Math.hypot(event.clientX - down[0], event.clientY - down[1]) > 4) { return; }
    var mark = document.elementFromPoint(event.clientX, event.clientY);
    mark = mark ? mark.closest('.mark, .gap, .pass') : null;
    var words = mark ? mark.querySelector('title') : null;
    if (words) { form.querySelector('output').textContent = words.textContent; }
  });
  map.addEventListener('pointercancel', function () { from = null; });
  form.addEventListener('submit', function (event) {
    event.preventDefault();
    var p = form.p.value.trim(), r = form.r.value.trim(), d = Number(form.d.value || 0), line = null;
    map.querySelectorAll('.pass').forEach(function (one) {
      if (one.dataset.p === p) { if (r === '' || one.dataset.r === r) { line = line || one; } }
    });
    var said = form.querySelector('output');
    if (!line) { said.textContent = 'No such pass and row here.'; return; }
    var a = Number(line.dataset.a), z = Number(line.dataset.z), length = line.getTotalLength();
    if (d > z || a > d) { said.textContent = 'This pass has drops ' + a + ' to ' + z + '.'; d = a; } else { said.textContent = ''; }
    var spot = line.getPointAtLength(z > a ? length * (d - a) / (z - a) : 0), width = Math.min(all[2], Math.max(8, length / 6));
    at = [spot.x, spot.y];
    box = [spot.x - width / 2, spot.y - width * all[3] / all[2] / 2, width, width * all[3] / all[2]];
    show();
  });
  window.addEventListener('resize', show);
  show();
})();
