document.querySelectorAll('form.goto').forEach(function (form) {
  form.hidden = false;
  form.addEventListener('submit', function (event) {
    event.preventDefault();
    var wanted = Number(form.querySelector('input').value), found = null;
    document.querySelectorAll('.run-row.found').forEach(function (row) { row.classList.remove('found'); });
    form.parentNode.querySelectorAll('.run-row').forEach(function (row) {
      if (wanted >= Number(row.dataset.first)) { if (Number(row.dataset.last) >= wanted) { found = row; } }
    });
    form.querySelector('output').textContent = found ? '' : 'No such drop in this run.';
    if (found) {
      found.classList.add('found');
      found.scrollIntoView({ block: 'center' });
      form.querySelector('output').textContent = found.querySelector('svg').getAttribute('aria-label');
    }
  });
});
