/** The part of `jstat` that is used here; the package brings no types of its own. */
declare module "jstat" {
  interface Distribution<Parameters extends readonly number[]> {
    pdf(x: number, ...parameters: Parameters): number;
    cdf(x: number, ...parameters: Parameters): number;
    inv(p: number, ...parameters: Parameters): number;
  }
  const jStat: {
    readonly normal: Distribution<[mean: number, sd: number]>;
    readonly studentt: Distribution<[dof: number]>;
    readonly chisquare: Distribution<[dof: number]>;
    readonly beta: Distribution<[alpha: number, beta: number]>;
  };
  export default jStat;
}
