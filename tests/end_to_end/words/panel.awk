# The panel r2c3 of a plan as photographed from straight before it, built up to row `to`: 8 pixels a
# cell, dark lines where bricks meet. Reads plan.json for colours, then bricks.csv.
function number(hex) { return 16 * (index(digits, substr(hex, 1, 1)) - 1) + index(digits, substr(hex, 2, 1)) - 1 }
BEGIN { digits = "0123456789abcdef" }
/"id":/ { split($0, part, "\""); id = part[4] }
/"hex":/ { split($0, part, "\""); h = part[4]
    of[id] = sprintf("%d %d %d ", number(substr(h, 2, 2)), number(substr(h, 4, 2)), number(substr(h, 6, 2))) }
/^r2c3,/ { split($0, b, ",")
    if (b[3] + b[6] - 1 > to) next
    for (x = 0; x < b[5]; x++) for (y = 0; y < b[6]; y++) {
        at = (b[2] + x) "," (b[3] + y); colour[at] = of[b[9]]; brick[at] = NR
        if (!left || b[2] < left) left = b[2]; if (b[2] + x > right) right = b[2] + x
        if (!low || b[3] < low) low = b[3]; if (b[3] + y > high) high = b[3] + y
    } }
END {
    edge = "20 20 20 "; ground = "150 140 120 "
    width = right - left + 11
    print "P3", 8 * width, 8 * (high - low + 11), 255
    for (x = 0; x < 8 * width; x++) blank = blank ground
    for (y = high + 5; y > low - 6; y--) {
        line = top = ""
        for (x = left - 5; x < left + width - 5; x++) {
            at = x "," y; c = at in colour ? colour[at] : ground
            e = brick[at] != brick[x "," (y + 1)] ? edge : c
            s = brick[at] != brick[(x - 1) "," y] ? edge : c
            top = top e e e e e e e e; line = line s c c c c c c c
        }
        print top; for (i = 1; i < 8; i++) print line
    }
}
