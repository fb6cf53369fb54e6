export function Work() { return null; }
