/** What a page says of assumptions that can't be reckoned with. */
export const wrongAssumption = (problems: readonly string[]) => ({
  status: 422,
  heading: 'That can’t be reckoned with',
  sentence: problems.join(' '),
});
