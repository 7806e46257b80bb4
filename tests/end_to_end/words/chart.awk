# A table with the chart of 24 patches, read from CGATS.17, and a row of four bricks below it, 1100 x
# 900 pixels as P6. corners are the middles of the corner patches. plain: white paper alone.
function encoded(v) { v = v < 0 ? 0 : v > 1 ? 1 : v
    v = v <= 0.0031308 ? 12.92 * v : 1.055 * exp(log(v) / 2.4) - 0.055
    return sprintf("%c", int(254 * v + 1.5)) }
function cube(t) { return t > 6 / 29 ? t * t * t : 3 * (6 / 29) ^ 2 * (t - 4 / 29) }
# CIELAB to XYZ of D50, then to linear sRGB (IEC 61966-2-1, adapted by Bradford).
function pixel(L, a, b,    x, y, z) {
    y = (L + 16) / 116; x = 0.9642 * cube(y + a / 500); z = 0.8249 * cube(y - b / 200); y = cube(y)
    return encoded(0.8 * (3.1339 * x - 1.6169 * y - 0.4906 * z)) encoded(0.8 * (-0.9788 * x + 1.9161 * y + 0.0335 * z)) \
        encoded(0.8 * (0.0719 * x - 0.2290 * y + 1.4052 * z)) }
function lay(x0, y0, x1, y1, p) { n++; left[n] = int(x0); top[n] = int(y0); right[n] = int(x1); end[n] = int(y1); paint[n] = p
    change[int(y0)] = change[int(y1)] = 1 }
function corner(i, j, k,    u, v) { u = i / 5; v = j / 3
    return (1 - v) * ((1 - u) * c[1 + k] + u * c[3 + k]) + v * ((1 - u) * c[7 + k] + u * c[5 + k]) }
BEGIN { split(corners, c, ","); table = pixel(75, 1, 4)
    if (!plain) lay(c[1] - 110, c[2] - 110, c[5] + 120, c[6] + 110, pixel(17, 0, 0)) }
/^[0-9]+[ \t]/ && !plain { i = ($1 - 1) % 6; j = int(($1 - 1) / 6)
    x = corner(i, j, 0); y = corner(i, j, 1); lay(x - 56, y - 56, x + 56, y + 56, pixel($(NF - 2), $(NF - 1), $NF)) }
END { for (i = 0; i < 4 && !plain; i++) { x = c[1] + 160 * i; lay(x - 50, 40, x + 50, 140, pixel(40 + 12 * i, 20 - 15 * i, 30 - 12 * i)) }
    printf "P6\n1100 900\n255\n"
    for (y = 0; y < 900; y++) {
        if (!y || y in change) { line = ""
            for (x = 0; x < 1100; x++) { p = table; for (k = 1; k <= n; k++) if (x >= left[k] && x < right[k] && y >= top[k] && y < end[k]) p = paint[k]; line = line p } }
        printf "%s", line } }
