/* SPDX-License-Identifier: MIT */
#include "../check.h"
#include "draw/text_plot.h"

#include <stdio.h>
#include <string.h>

static char lines[TEXT_PLOT_WIDTH_MOST * TEXT_PLOT_HEIGHT_MOST * 4];

static void draw(const struct plot *plot, size_t width, size_t height, enum text_plot_style style)
{
	struct text text;
	text_init(&text, lines, sizeof(lines));
	text_plot_draw(plot, width, height, style, &text);
	assert_false(text.overflow);
}

static const struct plot_point ramp[] = {{0, 0}, {8, 80}, {9, 20}, {10, 0}};

static struct plot ramp_plot(void)
{
	struct plot plot = {.title = "load, kN",
		.unit_x = "s",
		.points = ramp,
		.count = 4,
		.has_band = true,
		.band_low = 40,
		.band_high = 40,
		.has_span = true,
		.span_from = 4,
		.span_to = 7.2};
	plot_fit(&plot, 4, 5);
	return plot;
}

static void check_lines(const char *const *expected, size_t count)
{
	char *rest = lines;
	for (size_t i = 0; i < count; i++)
		assert_string_equal(strsep(&rest, "\n"), expected[i]);
	assert_string_equal(rest, "");
}

static const char *const ascii_expected[] = {
	"load, kN",
	"   80+        :    ..**",
	"     |        :  .*': *",
	"   60+        :.*'  : *.",
	"   40+------..*'----:--*--",
	"     |    .*' :     :  *",
	"   20+  .*'   :     :  '*",
	"    0+*''     :     :   '*",
	"     ++-------==#====----+",
	"      0         5 s",
};

static void ascii(void **state)
{
	const struct plot plot = ramp_plot();
	(void)state;
	draw(&plot, 26, 10, TEXT_PLOT_ASCII);
	check_lines(ascii_expected, sizeof(ascii_expected) / sizeof(*ascii_expected));
}

static const char *const utf8_expected[] = {
	"load, kN",
	"   80┤        ┊    ⢀⣠⠞⡇",
	"     │        ┊  ⢀⡴⠋┊ ⢳",
	"   60┤        ┊⣠⠞⠉  ┊ ⠸⡄",
	"   40┤╌╌╌╌╌╌⢀⡤⠞⠁╌╌╌╌┊╌╌⣇╌╌",
	"     │    ⣀⡴⠋ ┊     ┊  ⢸",
	"   20┤  ⣠⠞⠁   ┊     ┊  ⠈⢧",
	"    0┤⡴⠋⠁     ┊     ┊   ⠈⢳",
	"     └┴───────━━┻━━━━────┴",
	"      0         5 s",
};

static void utf8(void **state)
{
	const struct plot plot = ramp_plot();
	(void)state;
	draw(&plot, 26, 10, TEXT_PLOT_UTF8);
	check_lines(utf8_expected, sizeof(utf8_expected) / sizeof(*utf8_expected));
}

static size_t count_lines(void)
{
	size_t count = 0;
	for (const char *c = lines; *c; c++)
		count += *c == '\n';
	return count;
}

static void sizes_are_brought_inside_the_limits(void **state)
{
	const struct plot plot = ramp_plot();
	(void)state;
	draw(&plot, 0, 0, TEXT_PLOT_UTF8);
	assert_int_equal(count_lines(), TEXT_PLOT_HEIGHT_LEAST);
	draw(&plot, 100000, 100000, TEXT_PLOT_UTF8);
	assert_int_equal(count_lines(), TEXT_PLOT_HEIGHT_MOST);
}

static void values_off_the_axis_are_cut(void **state)
{
	const struct plot_point points[] = {{0, 0.2}, {1, 9}, {2, -9}, {3, 0.2}};
	struct plot plot = {.title = "", .unit_x = "s", .points = points, .count = 4};
	(void)state;
	axis_fit_tight(&plot.x, 0, 3, 4);
	axis_fit(&plot.y, 0, 0.4, 3);
	draw(&plot, 40, 9, TEXT_PLOT_ASCII);
	assert_int_equal(count_lines(), 9);
}

static void empty_plot_has_its_axes(void **state)
{
	struct plot plot = {.title = "load, kN", .unit_x = "s"};
	(void)state;
	plot_fit(&plot, 4, 4);
	draw(&plot, 40, 9, TEXT_PLOT_ASCII);
	assert_non_null(strstr(lines, "load, kN\n"));
	assert_int_equal(count_lines(), 9);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(ascii),
		cmocka_unit_test(utf8),
		cmocka_unit_test(sizes_are_brought_inside_the_limits),
		cmocka_unit_test(values_off_the_axis_are_cut),
		cmocka_unit_test(empty_plot_has_its_axes),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
