export const drawFence = (_: string): string | null => null;
