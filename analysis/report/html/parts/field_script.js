
(function () {
  'use strict';
  var form = document.querySelector('form.find');
  var maps = Array.prototype.map.call(document.querySelectorAll('.map'), begin);
  if (!form) { return; }
  form.hidden = false;

  // One map: pans with one finger or the mouse, zooms with two or with Ctrl and the wheel.
  function begin(frame) {
    var svg = frame.querySelector('svg.ground');
    var scale = frame.querySelector('.scale');
    var said = frame.querySelector('output');
    var found = svg.querySelector('.found');
    var all = svg.getAttribute('viewBox').split(' ').map(Number);
    var box = all.slice();
    var fingers = new Map();
    var down = null;
    var ringAt = null;

    function metresPerPixel() {
      var size = svg.getBoundingClientRect();
      return size.width > 0 ? Math.max(box[2] / size.width, box[3] / size.height) : box[2] / 700;
    }
    function show() {
      svg.setAttribute('viewBox', box.join(' '));
      var k = metresPerPixel();
      var width = svg.getBoundingClientRect().width || 700;
      svg.style.setProperty('--k', k);
      var bar = Math.pow(10, Math.floor(Math.log10(width * k / 3)));
      if (width * k > 15 * bar) { bar *= 5; } else if (width * k > 6 * bar) { bar *= 2; }
      scale.style.width = (bar / k) + 'px';
      scale.firstChild.textContent = Number(bar.toPrecision(1)).toLocaleString('en') + ' m';
      if (ringAt) {
        found.setAttribute('visibility', 'visible');
        found.style.transform = 'translate(' + ringAt[0] + 'px,' + ringAt[1] + 'px) scale(' + k + ')';
      }
    }
    function zoom(factor, x, y) {
      var least = 0.5;
      if (least > box[2] * factor) { return; }
      if (box[2] * factor > 20 * all[2]) { return; }
      box = [x - (x - box[0]) * factor, y - (y - box[1]) * factor, box[2] * factor, box[3] * factor];
      show();
    }
    function place(x, y) {
      var p = new DOMPoint(x, y).matrixTransform(svg.getScreenCTM().inverse());
      return [p.x, p.y];
    }
    function pan(x, y, fromX, fromY) {
      var a = place(x, y), b = place(fromX, fromY);
      box[0] += b[0] - a[0];
      box[1] += b[1] - a[1];
      show();
    }
    // The nearest mark within a finger's breadth.
    function markNear(x, y) {
      var at = place(x, y), k = metresPerPixel(), best = null, least = 24 * k;
      svg.querySelectorAll('[data-at]').forEach(function (mark) {
        var c = mark.dataset.at.split(' ').map(Number);
        var away = fromLine(at, c) - (mark.classList.contains('stop') ? 3 * k : 0);
        if (least > away) { least = away; best = mark; }
      });
      return best;
    }
    function fromLine(p, c) {
      var dx = c[2] - c[0], dy = c[3] - c[1], length = dx * dx + dy * dy;
      var t = length > 0 ? Math.max(0, Math.min(1, ((p[0] - c[0]) * dx + (p[1] - c[1]) * dy) / length)) : 0;
      return Math.hypot(p[0] - c[0] - t * dx, p[1] - c[1] - t * dy);
    }
    function tap(x, y) {
      var mark = markNear(x, y) || document.elementFromPoint(x, y);
      mark = mark ? mark.closest('[data-at], .pass') : null;
      var words = mark ? mark.querySelector('title') : null;
      said.textContent = words ? words.textContent : '';
    }
    function two() {
      var both = Array.from(fingers.values());
      return { x: (both[0].x + both[1].x) / 2, y: (both[0].y + both[1].y) / 2,
               apart: Math.max(1, Math.hypot(both[0].x - both[1].x, both[0].y - both[1].y)) };
    }

    svg.addEventListener('pointerdown', function (event) {
      fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
      down = fingers.size === 1 ? { x: event.clientX, y: event.clientY } : null;
      svg.setPointerCapture(event.pointerId);
    });
    svg.addEventListener('pointermove', function (event) {
      var finger = fingers.get(event.pointerId);
      if (!finger) { return; }
      if (fingers.size === 2) {
        var before = two();
        finger.x = event.clientX; finger.y = event.clientY;
        var now = two(), middle = place(before.x, before.y);
        zoom(before.apart / now.apart, middle[0], middle[1]);
        pan(now.x, now.y, before.x, before.y);
        return;
      }
      if (fingers.size === 1) { pan(event.clientX, event.clientY, finger.x, finger.y); }
      finger.x = event.clientX; finger.y = event.clientY;
    });
    function up(event) {
      fingers.delete(event.pointerId);
      if (down) { if (6 >= Math.hypot(event.clientX - down.x, event.clientY - down.y)) { tap(event.clientX, event.clientY); } }
      down = null;
    }
    svg.addEventListener('pointerup', up);
    svg.addEventListener('pointercancel', function (event) { fingers.delete(event.pointerId); down = null; });
    svg.addEventListener('wheel', function (event) {
      if (!event.ctrlKey) { if (!event.shiftKey) { return; } }
      event.preventDefault();
      var p = place(event.clientX, event.clientY);
      zoom((event.deltaY || event.deltaX) > 0 ? 1.25 : 0.8, p[0], p[1]);
    }, { passive: false });
    svg.addEventListener('dblclick', function (event) { var p = place(event.clientX, event.clientY); zoom(0.5, p[0], p[1]); });
    window.addEventListener('resize', show);
    show();

    return {
      svg: svg, said: said, frame: frame,
      zoomBy: function (factor) {
        if (factor === 0) { box = all.slice(); show(); } else { zoom(factor, box[0] + box[2] / 2, box[1] + box[3] / 2); }
      },
      goTo: function (x, y, width) {
        width = Math.min(all[2], Math.max(8, width));
        ringAt = [x, y];
        box = [x - width / 2, y - width * all[3] / all[2] / 2, width, width * all[3] / all[2]];
        show();
        frame.scrollIntoView({ block: 'center' });
      }
    };
  }

  document.querySelectorAll('[data-zoom]').forEach(function (button) {
    button.hidden = false;
    button.addEventListener('click', function () {
      maps[Number(button.dataset.map)].zoomBy(Number(button.dataset.zoom));
    });
  });
  form.addEventListener('submit', function (event) {
    event.preventDefault();
    var p = form.p.value.trim(), r = form.r.value.trim(), d = Number(form.d.value || 0), said = form.querySelector('output');
    said.textContent = 'No such pass and row here.';
    maps.some(function (map) {
      var line = Array.prototype.find.call(map.svg.querySelectorAll('.pass'), function (one) {
        return one.dataset.p === p ? (r === '' ? true : one.dataset.r === r) : false;
      });
      if (!line) { return false; }
      var a = Number(line.dataset.a), z = Number(line.dataset.z), length = line.getTotalLength();
      said.textContent = d > z || a > d ? 'This pass has drops ' + a + ' to ' + z + '.' : '';
      if (d > z || a > d) { d = a; }
      var spot = line.getPointAtLength(z > a ? length * (d - a) / (z - a) : 0);
      map.goTo(spot.x, spot.y, length / 6);
      return true;
    });
  });
})();
