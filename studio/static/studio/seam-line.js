// Geometry of a seam drawn on a photo: a line of corners, and places along it as shares of its
// length, from 0 at the first corner to 1 at the last. Places are [x, y] in the picture. [px]

const lengthsOf = (line) =>
  line.slice(1).map(([x, y], k) => Math.hypot(x - line[k][0], y - line[k][1]));

// Share of the line's length at its place nearest to a point of the picture.
export function shareAt(line, [x, y]) {
  let walked = 0;
  let best = { far: Number.POSITIVE_INFINITY, at: 0 };
  lengthsOf(line).forEach((length, k) => {
    const [ax, ay] = line[k];
    const [dx, dy] = [line[k + 1][0] - ax, line[k + 1][1] - ay];
    const along = length ? ((x - ax) * dx + (y - ay) * dy) / length ** 2 : 0;
    const t = Math.min(1, Math.max(0, along));
    const far = Math.hypot(ax + t * dx - x, ay + t * dy - y);
    if (far < best.far) best = { far, at: walked + t * length };
    walked += length;
  });
  return walked ? best.at / walked : 0;
}

// The corners of the part of a line between two shares of it.
export function partOf(line, from, to) {
  const lengths = lengthsOf(line);
  const total = lengths.reduce((sum, one) => sum + one, 0);
  let walked = 0;
  const between = lengths.slice(0, -1).flatMap((length, k) => {
    walked += length;
    return walked / total > from && walked / total < to ? [line[k + 1]] : [];
  });
  return [placeAt(line, lengths, from * total), ...between, placeAt(line, lengths, to * total)];
}

function placeAt(line, lengths, far) {
  let left = far;
  for (const [k, length] of lengths.entries()) {
    if (left <= length || k === lengths.length - 1) {
      const t = length ? left / length : 0;
      const [a, b] = [line[k], line[k + 1]];
      return [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
    }
    left -= length;
  }
  return line[0];
}
