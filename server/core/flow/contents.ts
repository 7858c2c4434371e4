/** What the cells hold. */
export interface Contents {
  /** kg */
  readonly mass: Float64Array;
  /** K */
  readonly temperature: Float64Array;
}

/** What a settling did: work of the moving doors on the contents, J, and the pressure they worked against on average, Pa. */
export interface Settled {
  readonly work: number;
  readonly pressure: number;
}
