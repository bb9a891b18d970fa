/** Forms: “working …” while an answer is under way, and unit words that follow the chosen units. */

/** A form's buttons and words, those outside it that belong to it too. */
const buttonsOf = (form: HTMLFormElement): HTMLButtonElement[] =>
  [...form.elements].filter(
    (e): e is HTMLButtonElement => e instanceof HTMLButtonElement && e.type === 'submit',
  );

const wordsBeside = (button: Element | null | undefined): HTMLElement | null | undefined =>
  button?.closest('.submit')?.querySelector<HTMLElement>('.working');

function restore(form: HTMLFormElement): void {
  for (const button of buttonsOf(form)) {
    button.disabled = false;
    const working = wordsBeside(button);
    if (working) working.hidden = true;
  }
}

for (const form of document.querySelectorAll<HTMLFormElement>('form[data-working]')) {
  form.addEventListener('submit', (event) => {
    const buttons = buttonsOf(form);
    const working = wordsBeside(event.submitter ?? buttons[0]);
    // After the browser has gathered the form: a disabled button must not keep it from being sent.
    setTimeout(() => {
      for (const button of buttons) button.disabled = true;
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

// Fields left empty mean the usual value: an address without them is shorter and says the same.
for (const form of document.querySelectorAll<HTMLFormElement>('form[method="get"]'))
  form.addEventListener('formdata', ({ formData }) => {
    for (const name of new Set(formData.keys()))
      if (formData.getAll(name).every((value) => value === '')) formData.delete(name);
  });
