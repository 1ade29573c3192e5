/* SPDX-License-Identifier: MIT
 *
 * Corrected two-pass mean and deviation; see statistics.h.
 */
#include "result/statistics.h"

#include <math.h>

struct statistics statistics_of(const double *values, size_t count)
{
	struct statistics statistics = {.count = count};
	if (count == 0)
		return statistics;
	double n = (double)count, sum = 0;
	for (size_t i = 0; i < count; i++)
		sum += values[i];
	double guess = sum / n;
	double rest = 0, squares = 0; /* rest would be 0 but for rounding */
	for (size_t i = 0; i < count; i++) {
		double distance = values[i] - guess;
		rest += distance;
		squares += distance * distance;
	}
	statistics.mean = guess + rest / n;
	if (count > 1)
		statistics.deviation = sqrt((squares - rest * rest / n) / (n - 1));
	return statistics;
}
