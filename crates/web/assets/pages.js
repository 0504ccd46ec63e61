// What every page has: a form is sent once, however often the button is pressed.
for (const form of document.querySelectorAll('form[method=post]')) {
  form.addEventListener('submit', (event) => {
    if (form.dataset.sent) event.preventDefault();
    form.dataset.sent = 'yes';
  });
}
// Back from another page, a form can be sent again.
addEventListener('pageshow', () => document.querySelectorAll('form[data-sent]').forEach((form) => delete form.dataset.sent));
