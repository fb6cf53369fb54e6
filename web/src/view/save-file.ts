/** Has the browser keep bytes as a file of that name. */
export function saveFile(name: string, bytes: Blob): void {
  const address = URL.createObjectURL(bytes);
  const link = document.createElement('a');
  link.href = address;
  link.download = name;
  link.click();
  // Not at once: the browser reads the bytes after the press has been dealt with.
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}
