export function Locate() { return null; }
