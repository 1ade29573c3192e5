/* SPDX-License-Identifier: MIT
 *
 * cmocka with what it lacks: comparison of doubles at double precision (its own casts to float).
 */
#ifndef TESTS_UNIT_CHECK_H
#define TESTS_UNIT_CHECK_H

/* cmocka.h needs these before it. */
/* clang-format off */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
/* clang-format on */

#include <math.h>

/* |actual - expected| <= tolerance; NaN fails. */
#define check_near(actual, expected, tolerance) \
	do { \
		double check_a = (actual), check_e = (expected), check_t = (tolerance); \
		if (!(fabs(check_a - check_e) <= check_t)) \
			fail_msg("%s is %.17g, expected %.17g within %g", #actual, check_a, \
				check_e, check_t); \
	} while (0)

#endif
