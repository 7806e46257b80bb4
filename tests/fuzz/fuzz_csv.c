/* Fuzz entry for CSV: any bytes give a table or a fault with a place. Built with
 * -fsanitize=fuzzer it is a fuzzer; test_csv runs it over every file of tests/data/bad. */
#include "base/csv.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    Csv *csv;
    Fault fault = {0};
    if (csv_parse(&csv, (const char *)bytes, length, "fuzz", &fault)) {
        if (fault.status == STATUS_OK || strncmp(fault.text, "fuzz:", 5)) abort();
        return 0;
    }
    double value;
    for (size_t row = 0; row < csv_rows(csv); row++)
        for (int i = 0; i < csv_columns(csv); i++) {
            if (csv_line(csv, row) < 1 || csv_at(csv, row, i) < 1) abort();
            csv_number(csv, row, i, (CsvRange){-1e300, 1e300}, &value, &fault);
        }
    csv_free(csv);
    return 0;
}
