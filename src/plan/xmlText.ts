const ESCAPES: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&apos;',
};

/**
 * A user's text for an XML 1.0 document, as element content or inside quotes. Line breaks and tabs become a space;
 * other control characters, halves of surrogate pairs and the two non-characters that XML forbids are dropped.
 */
export function xmlText(text: string): string {
  return (
    text
      .replace(/[\t\n\r\u0085\u2028\u2029]+/g, ' ')
      // eslint-disable-next-line no-control-regex -- these are what is dropped
      .replace(/[\u0000-\u001f\u007f-\u009f\ufffe\uffff]/g, '')
      .replace(/[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/g, '')
      .replace(/[&<>"']/g, (c) => ESCAPES[c])
  );
}
