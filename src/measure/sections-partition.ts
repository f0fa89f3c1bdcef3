/**
 * Cuts a song into stretches that are alike within: of all ways to cut it, the one with the least sum of squared
 * distances to the mean of each stretch plus `price` for each cut.
 *
 * A self-similarity matrix (J. Foote, 'Automatic audio segmentation using a measure of audio novelty', 2000; from
 * memory) of such a song has bright blocks along its diagonal. With squared distance as the measure, the sum over
 * a block is 2n times the distances to its mean, so the best tiling of the diagonal with blocks is found exactly, by
 * dynamic programming over running sums (optimal partitioning, Jackson and others 2005; from memory), and the matrix
 * itself need never be held: memory grows with the steps, not with their square.
 *
 * @param rows features, one array a step
 * @param price of one cut, in mean squared distance a feature times steps
 * @param fewest steps in a stretch
 * @returns rows at which stretches begin, 0 first; empty when there is no row
 */
export function partition(rows: readonly Float64Array[], price: number, fewest: number): number[] {
  const count = rows.length;
  if (count === 0) return [];
  const width = rows[0].length;
  const sums = new Float64Array((count + 1) * width);
  const squares = new Float64Array(count + 1);
  rows.forEach((row, i) => {
    let square = squares[i];
    for (let k = 0; k < width; k++) {
      sums[(i + 1) * width + k] = sums[i * width + k] + row[k];
      square += row[k] * row[k];
    }
    squares[i + 1] = square;
  });
  const spread = (from: number, to: number) => {
    let meanSquare = 0;
    for (let k = 0; k < width; k++) {
      const sum = sums[to * width + k] - sums[from * width + k];
      meanSquare += sum * sum;
    }
    return (squares[to] - squares[from] - meanSquare / (to - from)) / width;
  };
  const cost = new Float64Array(count + 1).fill(Number.POSITIVE_INFINITY);
  const begin = new Int32Array(count + 1);
  cost[0] = -price;
  // Too short to be cut at all: one stretch.
  if (count < 2 * fewest) return [0];
  for (let to = fewest; to <= count; to++)
    for (let from = 0; from <= to - fewest; from++) {
      const total = cost[from] + price + spread(from, to);
      if (total < cost[to]) {
        cost[to] = total;
        begin[to] = from;
      }
    }
  const starts: number[] = [];
  for (let to = count; to > 0; to = begin[to]) starts.push(begin[to]);
  return starts.reverse();
}
