/* Fuzz entry for brick sets and stocks: any bytes give a table within its bounds, or a fault. */
#include "fuzz/fuzz_input.h"
#include "model/stock.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    static Palette palette;
    static Sizes own, sizes;
    Stock stock = {0};
    Fault fault = {0};
    if (!palette.count && palette_default(&palette, &fault)) abort();
    sizes_default(&own, 8, 9.6);
    const char *path = fuzz_path(bytes, length);
    if (fuzz_well(sizes_read(&sizes, path, 8, 9.6, NULL, &fault), &fault) &&
        (sizes.count < 1 || sizes.count > SIZES_MOST))
        abort();
    const StockWords words = {&palette, &own, STOCK_OWN};
    if (fuzz_well(stock_read(&stock, path, &words, NULL, &fault), &fault))
        for (size_t i = 0; i < stock.count; i++)
            if (stock.line[i].colour >= palette.count || stock.line[i].size >= own.count) abort();
    stock_clear(&stock);
    return 0;
}
