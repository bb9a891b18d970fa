/** Dropping files: each is listed with what it is taken for, which the user can correct before sending. */

const roles: readonly (readonly [value: string, label: string])[] = [
  ['points', 'Soil tests'],
  ['boundary', 'Boundary'],
  ['soilUnits', 'Soil units'],
  ['yield', 'Yield map'],
  ['keepOut', 'Ground to keep out of'],
  ['guidance', 'Rates of your region'],
];

interface Brought {
  readonly file: File;
  role: string;
}

/** Enough of a table to see its header; other kinds are small or can't be cut. */
const TABLE_HEAD = 256 * 1024;

async function guessRole(file: File): Promise<string> {
  const head = /\.(?:csv|tsv|txt)$/i.test(file.name) ? file.slice(0, TABLE_HEAD) : file;
  try {
    const reply = await fetch(`/files/role?name=${encodeURIComponent(file.name)}`, {
      method: 'POST',
      headers: { 'Content-Type': 'application/octet-stream' },
      body: head,
    });
    const { role } = (await reply.json()) as { role?: string };
    return roles.find(([value]) => value === role)?.[0] ?? 'points';
  } catch {
    return 'points';
  }
}

function size(bytes: number): string {
  return bytes < 1024 * 1024
    ? `${Math.max(1, Math.round(bytes / 1024))} KB`
    : `${(bytes / 1024 / 1024).toFixed(1)} MB`;
}

function listItem(item: Brought, remove: () => void): HTMLLIElement {
  const li = document.createElement('li');
  const name = document.createElement('span');
  name.className = 'file-name';
  name.textContent = `${item.file.name} (${size(item.file.size)})`;
  const select = document.createElement('select');
  select.name = 'roles';
  select.setAttribute('aria-label', `${item.file.name} is taken for`);
  for (const [value, label] of roles) select.add(new Option(label, value, false, value === item.role));
  select.addEventListener('change', () => (item.role = select.value));
  const button = document.createElement('button');
  button.type = 'button';
  button.className = 'quiet';
  button.textContent = 'Remove';
  button.addEventListener('click', remove);
  li.append(name, select, button);
  return li;
}

function setUp(drop: HTMLElement): void {
  const input = drop.querySelector<HTMLInputElement>('input[type="file"]');
  const list = drop.querySelector<HTMLElement>('.dropped');
  const separate = document.querySelector<HTMLElement>('.separate');
  if (!input || !list || !separate) return;
  let brought: Brought[] = [];
  drop.hidden = false;
  input.disabled = false;
  tuckAway(separate);

  const draw = () => {
    // The input carries exactly the files listed, in their order: that is how the roles find them.
    const transfer = new DataTransfer();
    for (const { file } of brought) transfer.items.add(file);
    input.files = transfer.files;
    list.replaceChildren(
      ...brought.map((item) =>
        listItem(item, () => {
          brought = brought.filter((b) => b !== item);
          draw();
        }),
      ),
    );
  };
  const add = async (files: readonly File[]) => {
    const roleOf = await Promise.all(files.map(guessRole));
    const names = new Set(files.map((f) => f.name));
    brought = [
      ...brought.filter((b) => !names.has(b.file.name)),
      ...files.map((file, i) => ({ file, role: roleOf[i] })),
    ];
    draw();
  };

  input.addEventListener('change', () => void add([...(input.files ?? [])]));
  drop.addEventListener('dragover', (event) => {
    event.preventDefault();
    drop.classList.add('over');
  });
  drop.addEventListener('dragleave', () => drop.classList.remove('over'));
  drop.addEventListener('drop', (event) => {
    event.preventDefault();
    drop.classList.remove('over');
    void add([...(event.dataTransfer?.files ?? [])]);
  });
}

/** The separate inputs stay for those who want them, folded away. */
function tuckAway(separate: HTMLElement): void {
  const details = document.createElement('details');
  const summary = document.createElement('summary');
  summary.textContent = 'Or choose the files one by one';
  separate.querySelector('legend')?.classList.add('unseen');
  separate.replaceWith(details);
  details.append(summary, separate);
}

for (const drop of document.querySelectorAll<HTMLElement>('[data-drop]')) setUp(drop);
