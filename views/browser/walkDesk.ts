/** Times as the reader's own clock says them. */
for (const time of document.querySelectorAll<HTMLTimeElement>('time[datetime]')) {
  const at = new Date(time.dateTime);
  if (!Number.isNaN(at.getTime()))
    time.textContent = at.toLocaleString(undefined, { dateStyle: 'short', timeStyle: 'short' });
}
