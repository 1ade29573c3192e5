/* SPDX-License-Identifier: MIT
 *
 * The centre of the loads, in whole numbers: places of up to 10 m and loads of up to 100 MN need
 * more than 64 bits only as a product.
 */
#include "measure/thrust.h"

#include "base/wide.h"

#include <math.h>

bool thrust_is_told(const struct thrust_place *places, size_t count)
{
	for (size_t i = 1; i < count; i++) {
		for (size_t k = i + 1; k < count; k++) {
			wide ax = places[i].x_um - places[0].x_um;
			wide ay = places[i].y_um - places[0].y_um;
			wide bx = places[k].x_um - places[0].x_um;
			wide by = places[k].y_um - places[0].y_um;
			if (ax * by != ay * bx)
				return true;
		}
	}
	return false;
}

bool thrust_point(const struct thrust_place *places, const int64_t *loads_un, size_t count,
	struct thrust_place *point)
{
	wide x = 0, y = 0, total = 0;

	for (size_t i = 0; i < count; i++) {
		x += (wide)places[i].x_um * loads_un[i];
		y += (wide)places[i].y_um * loads_un[i];
		total += loads_un[i];
	}
	if (total <= 0)
		return false;
	*point = (struct thrust_place){
		(int64_t)wide_divide_even(x, total), (int64_t)wide_divide_even(y, total)};
	return true;
}

int64_t thrust_distance_um(const struct thrust_place *point)
{
	return llround(hypot((double)point->x_um, (double)point->y_um));
}
