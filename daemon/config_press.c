/* SPDX-License-Identifier: MIT
 *
 * Lengths, bearing blocks and places, as they stand in the configuration.
 */
#include "config_press.h"

#include <string.h>

static bool read_length(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	struct decimal number;
	const char *unit = "";
	int64_t length_um = 0;

	if (!config_split_quantity(text, &number, &unit) || strcmp(unit, "mm") != 0 ||
		!decimal_scaled(number, 3, &length_um))
		return message_set(why, "%s = %s: a length is meant, as in 5 mm", key->name, text);
	if (!config_in_range(key, text, decimal_double(number), why))
		return false;
	*(int64_t *)target = length_um;
	return true;
}

static void write_length(const void *target, struct text *text)
{
	text_format(text, "%.10g mm", (double)*(const int64_t *)target * 1e-3);
}

/* "165 mm" is round, "square 200 mm" is not; "none": not stated. */
static bool read_block(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	static const char square[] = "square ";
	struct bearing *block = target;

	*block = (struct bearing){.width_um = 0};
	if (strcmp(text, "none") == 0)
		return true;
	block->square = strncmp(text, square, sizeof square - 1) == 0;
	return read_length(
		key, block->square ? text + sizeof square - 1 : text, &block->width_um, why);
}

static void write_block(const void *target, struct text *text)
{
	const struct bearing *block = target;

	if (block->width_um == 0) {
		text_put(text, "none");
		return;
	}
	text_put(text, block->square ? "square " : "");
	write_length(&block->width_um, text);
}

/* "-100, 57.5 mm": to the right of the centre, and away from whoever stands before the press. */
static bool read_place(
	const struct config_key *key, const char *text, void *target, struct message *why)
{
	struct config_place *place = target;
	struct decimal x, y;
	const char *comma = strchr(text, ','), *rest = comma ? comma + 1 : text, *unit = "";
	size_t length = comma ? (size_t)(comma - text) : 0;

	*place = (struct config_place){.known = false};
	if (strcmp(text, "none") == 0)
		return true;
	rest += strspn(rest, " \t");
	if (!decimal_parse(text, length, &x) || !config_split_quantity(rest, &y, &unit) ||
		strcmp(unit, "mm") != 0 || !decimal_scaled(x, 3, &place->at.x_um) ||
		!decimal_scaled(y, 3, &place->at.y_um))
		return message_set(
			why, "%s = %s: a place is meant, as in -100, 57.5 mm", key->name, text);
	place->known = config_in_range(key, text, decimal_double(x), why) &&
		       config_in_range(key, text, decimal_double(y), why);
	return place->known;
}

static void write_place(const void *target, struct text *text)
{
	const struct config_place *place = target;

	if (!place->known)
		text_put(text, "none");
	else
		text_format(text, "%.10g, %.10g mm", (double)place->at.x_um * 1e-3,
			(double)place->at.y_um * 1e-3);
}

const struct config_type config_type_length = {"length", read_length, write_length};
const struct config_type config_type_block = {"block", read_block, write_block};
const struct config_type config_type_place = {"place", read_place, write_place};
