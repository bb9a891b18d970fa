export interface Kriged {
  /** Predictions at the nodes; NaN-filled when no values were given, and NaN where too few samples are near. */
  readonly predictions: Float64Array;
  /** Kriging variances at the nodes; NaN where too few samples are near for the trend. */
  readonly variances: Float64Array;
  /** f₀ᵀm of the weights K⁻¹(c + F·m): for a constant mean the Lagrange multiplier m itself. On request. */
  readonly lagrange?: Float64Array;
}

/** Where the engines put their results. */
export interface KrigeOutput {
  readonly predictions: Float64Array;
  readonly variances: Float64Array;
  readonly lagrange: Float64Array | undefined;
}
