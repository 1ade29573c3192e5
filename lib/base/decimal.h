/* SPDX-License-Identifier: MIT
 *
 * Decimal numbers as instruments and people write them: mantissa x 10^exponent, exact, free of
 * the locale. Numbers stay decimal until they are computed with, and are rounded in decimal.
 */
#ifndef BASE_DECIMAL_H
#define BASE_DECIMAL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* value = mantissa x 10^exponent. "12.50" is {1250, -2}: the digits sent are kept. */
struct decimal {
	int64_t mantissa;
	int exponent; /* -18 .. 18 */
};

/* Reads the whole of text[0..length): [+-] digits [. digits] [e[+-]digits], at least one digit, at
 * most 18 significant digits. No spaces. False (decimal untouched) on anything else. */
bool decimal_parse(const char *text, size_t length, struct decimal *decimal);

/* value x 10^places as an integer, rounded half to even where digits are lost; false if it does
 * not fit. decimal_scaled({1250,-2}, 6) = 12500000. */
bool decimal_scaled(struct decimal decimal, int places, int64_t *scaled);

double decimal_double(struct decimal decimal);

/* Rounds value to a multiple of step x 10^exponent (step 1, 2, 5, 10, ...), ties to even, decided
 * in decimal: value is first written with 12 significant digits (far finer than any measurement,
 * coarser than binary noise) and the tie is decided on those digits.
 * Returns the number of steps. ASTM E29: an exact five goes to the even digit.
 * decimal_round_even(31.65, 1, -1) = 316 ; decimal_round_even(4325, 10, 0) = 432. */
int64_t decimal_round_even(double value, int step, int exponent);

/* Writes scaled / 10^places in full, e.g. (316, 1) -> "31.6", (-5, 2) -> "-0.05"; returns the
 * number of characters, excluding the final NUL. text holds at least 24 bytes; places 0 .. 18. */
size_t decimal_text(int64_t scaled, int places, char *text);

#endif
