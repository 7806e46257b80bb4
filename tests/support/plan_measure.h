/* A figure of a plan's measures, read from its plan.json. */
#ifndef PLAN_MEASURE_H
#define PLAN_MEASURE_H

#include <jansson.h>

static inline double plan_measure(const char *path, const char *name)
{
    json_t *plan = json_load_file(path, 0, NULL);
    assert_non_null(plan);
    const json_t *value = json_object_get(json_object_get(plan, "measures"), name);
    assert_true(json_is_number(value));
    const double figure = json_number_value(value);
    json_decref(plan);
    return figure;
}

#endif
