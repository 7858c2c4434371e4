/** Answers that are worked out only when somebody reads them. */

/** Value worked out when first asked for. */
export function lazy<T>(make: () => T): () => T {
  let made: { readonly value: T } | null = null;
  return () => (made ??= { value: make() }).value;
}
