/* SPDX-License-Identifier: MIT */
#include "../check.h"
#include "draw/band_bar.h"

#include <string.h>

static char scale[200], pointer[200];

static void draw(double value, size_t width, enum text_plot_style style)
{
	const struct band_bar bar = {
		.low = 0.2, .high = 0.3, .has_value = !isnan(value), .value = value, .places = 2};
	struct text scale_text, pointer_text;
	text_init(&scale_text, scale, sizeof(scale));
	text_init(&pointer_text, pointer, sizeof(pointer));
	band_bar_draw(&bar, width, style, &scale_text, &pointer_text);
	assert_false(scale_text.overflow || pointer_text.overflow);
}

static void band_stands_in_the_middle(void **state)
{
	(void)state;
	/* 21 cells from 0.00 to 0.50: one cell is 0.025. */
	draw(0.25, 31, TEXT_PLOT_ASCII);
	assert_string_equal(scale, "0.00 ........[===]........ 0.50");
	assert_string_equal(pointer, "               ^");
}

static void pointer_on_the_limits(void **state)
{
	(void)state;
	draw(0.2, 31, TEXT_PLOT_ASCII);
	assert_string_equal(pointer, "             ^");
	draw(0.3, 31, TEXT_PLOT_ASCII);
	assert_string_equal(pointer, "                 ^");
}

static void pointer_off_the_scale(void **state)
{
	(void)state;
	draw(-0.1, 31, TEXT_PLOT_ASCII);
	assert_string_equal(pointer, "     <");
	draw(9, 31, TEXT_PLOT_ASCII);
	assert_string_equal(pointer, "                         >");
	draw(NAN, 31, TEXT_PLOT_ASCII);
	assert_string_equal(pointer, "");
}

static void other_glyphs_in_utf8(void **state)
{
	(void)state;
	draw(0.25, 31, TEXT_PLOT_UTF8);
	assert_string_equal(scale, "0.00 ········[━━━]········ 0.50");
	assert_string_equal(pointer, "               ▲");
}

static void never_narrower_than_its_least(void **state)
{
	(void)state;
	draw(0.25, 0, TEXT_PLOT_ASCII);
	assert_int_equal(strlen(scale), BAND_BAR_WIDTH_LEAST);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(band_stands_in_the_middle),
		cmocka_unit_test(pointer_on_the_limits),
		cmocka_unit_test(pointer_off_the_scale),
		cmocka_unit_test(other_glyphs_in_utf8),
		cmocka_unit_test(never_narrower_than_its_least),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
