/* SPDX-License-Identifier: MIT
 *
 * The point of thrust: where, in the plane of the cells, the sum of their loads acts. Positions are
 * of the cells' axes, in micrometres from the centre of the press. A load that acts off the centre
 * bends the specimen and makes it break early.
 */
#ifndef MEASURE_THRUST_H
#define MEASURE_THRUST_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Two cells span a line only: what acts beside it they cannot tell. */
enum { THRUST_CELLS_LEAST = 3 };

struct thrust_place {
	int64_t x_um, y_um;
};

/* Whether the places span a plane, so that a point of thrust can be told from their loads: three or
 * more that do not stand in one line. */
bool thrust_is_told(const struct thrust_place *places, size_t count);

/* The loads' centre: sum of place x load over the sum of the loads, rounded to a micrometre. False
 * where the sum is not positive: then nothing bears, or the cells pull. */
bool thrust_point(const struct thrust_place *places, const int64_t *loads_un, size_t count,
	struct thrust_place *point);

/* Its distance from the centre. */
int64_t thrust_distance_um(const struct thrust_place *point);

#endif
