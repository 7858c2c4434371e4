/**
 * What an analysis may cost, counted in units of work and never by the clock: the same text gives the same answer, or the same refusal, on
 * every machine. Whoever works counts what it does; where the units are used up the answer is withheld and says so.
 */
export class WorkBudget {
  private used = 0;

  constructor(
    /** Units of work that may be spent. */
    readonly limit: number,
    /**
     * Called with all work as it is done, in units. It may throw to abandon the analysis: nothing half done is kept. For a host that cancels,
     * or shows progress.
     */
    private readonly whenSpent: (units: number) => void = () => undefined,
  ) {}

  /** Counts work done; false where the budget is used up by it. */
  spend(units: number): boolean {
    this.used += units;
    this.whenSpent(units);
    return this.used <= this.limit;
  }

  /** Takes what an answer that is known already cost when it was first computed: no work is done. False where that is too much. */
  charge(units: number): boolean {
    this.used += units;
    return this.used <= this.limit;
  }

  /**
   * A budget of its own of `limit` units for one figure, whose work is counted here too but not held against this limit: what a figure
   * may cost never depends on which other figures were asked for before it.
   */
  part(limit: number): WorkBudget {
    return new WorkBudget(limit, (units) => void this.spend(units));
  }

  get spent(): number {
    return this.used;
  }

  get left(): number {
    return Math.max(0, this.limit - this.used);
  }

  get isSpent(): boolean {
    return this.used > this.limit;
  }
}
