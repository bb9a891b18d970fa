/** Forms: “working …” while an answer is under way, and unit words that follow the chosen units. */

function restore(form: HTMLFormElement): void {
  const button = form.querySelector<HTMLButtonElement>('button[type="submit"]');
  const working = form.querySelector<HTMLElement>('.working');
  if (button) button.disabled = false;
  if (working) working.hidden = true;
}

for (const form of document.querySelectorAll<HTMLFormElement>('form[data-working]')) {
  form.addEventListener('submit', () => {
    const button = form.querySelector<HTMLButtonElement>('button[type="submit"]');
    const working = form.querySelector<HTMLElement>('.working');
    // After the browser has gathered the form: a disabled button must not keep it from being sent.
    setTimeout(() => {
      if (button) button.disabled = true;
      if (!working) return;
      working.hidden = false;
      working.textContent = form.dataset.working ?? 'Working …';
    });
  });
  // Coming back by the back button shows the page as it was left: ready again.
  addEventListener('pageshow', () => restore(form));
}

for (const radio of document.querySelectorAll<HTMLInputElement>('.units input[name="units"]'))
  radio.addEventListener('change', () => {
    for (const unit of document.querySelectorAll<HTMLElement>('[data-area-unit]'))
      unit.textContent = radio.value === 'us' ? 'acres' : 'hectares';
  });
