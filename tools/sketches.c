/* SPDX-License-Identifier: MIT
 *
 * Drawn and worded by this project; what a type means is the method's file's to say.
 */
#include "sketches.h"

#include "words.h"

#include <stdio.h>
#include <string.h>

enum { TYPES_MAX = 6 };

struct family {
	const char *title;
	size_t count;
	const char *const *words; /* NULL: those of ASTM C39 */
	const char *sketches[TYPES_MAX][SKETCHES_ROWS];
};

static const char *const kinds_words[] = {
	"satisfactory: all free faces broke alike, a core like an hourglass stays",
	"unsatisfactory: one side alone, or a crack right through: uneven load",
};
static const char *const beam_words[] = {
	"the crack begins within the middle third (between the loads)",
	"outside it by no more than the method lets it: with --crack-mm",
	"farther outside: no result",
};
static const char *const split_words[] = {
	"split in two along the loaded diameter", "broken otherwise: say how with --note"};

static const struct family cylinders = {"ASTM C39 and C42, and methods without types of their own",
	TYPES_MAX, NULL,
	{
		{" ______ ", "|\\    /|", "| \\  / |", "|  \\/  |", "|  /\\  |", "| /  \\ |",
			"|/____\\|"},
		{" ______ ", "|\\    /|", "| \\  / |", "|  \\/  |", "| || | |", "| || | |",
			"|_||_|_|"},
		{" ______ ", "| |  | |", "| |  | |", "| |  | |", "| |  | |", "| |  | |",
			"|_|__|_|"},
		{" ______ ", "|     /|", "|    / |", "|   /  |", "|  /   |", "| /    |",
			"|/_____|"},
		{" ______ ", "|   \\  |", "|    \\ |", "|     \\|", "|      |", "|      |",
			"|______|"},
		{"   /\\   ", "  /  \\  ", " /    \\ ", "|      |", "|      |", "|      |",
			"|______|"},
	}};
static const struct family kinds = {"EN 12390-3, IS 516, ASTM C109", 2, kinds_words,
	{
		{" ______ ", "|\\    /|", "| \\  / |", "|  ||  |", "|  ||  |", "| /  \\ |",
			"|/____\\|"},
		{" ______ ", "|   |  |", "|   |  |", "|    \\ |", "|     \\|", "|      |",
			"|______|"},
	}};
static const struct family beams = {"ASTM C78", 3, beam_words,
	{
		{"", "        v      v        ", " ______________________ ",
			"|          /           |", "|_________/____________|",
			"  ^                  ^  ", ""},
		{"", "        v      v        ", " ______________________ ",
			"|      /               |", "|_____/________________|",
			"  ^                  ^  ", ""},
		{"", "        v      v        ", " ______________________ ",
			"|   /                  |", "|__/___________________|",
			"  ^                  ^  ", ""},
	}};
static const struct family splits = {"ASTM C496, EN 12390-6", 2, split_words,
	{
		{"   __   ", "  /||\\  ", " / || \\ ", "|  ||  |", " \\ || / ", "  \\||/  ", ""},
		{"   __   ", "  /| \\  ", " / /  \\ ", "| /   -|", " \\|   / ", "  \\__/  ", ""},
	}};

static const struct family *family_of(const struct method *method)
{
	if (method && method->shapes & 1U << SHAPE_PRISM)
		return NULL; /* masonry breaks in ways of its own */
	if (method && method->formula == METHOD_FLEXURE)
		return &beams;
	if (method && method->formula == METHOD_SPLITTING)
		return &splits;
	return method && method->fracture_count == kinds.count ? &kinds : &cylinders;
}

const char *const *sketches_of(const struct method *method, int type)
{
	const struct family *family = family_of(method);
	return family && type >= 1 && (size_t)type <= family->count ? family->sketches[type - 1]
								    : NULL;
}

static void put_family(FILE *out, const struct family *family)
{
	size_t width = strlen(family->sketches[0][1]);
	fprintf(out, "\n%s\n", family->title);
	for (size_t row = 0; row < SKETCHES_ROWS; row++) {
		bool empty = true;
		for (size_t i = 0; i < family->count; i++)
			empty = empty && !family->sketches[i][row][0];
		for (size_t i = 0; i < family->count && !empty; i++)
			fprintf(out, "%s%-*s", i ? "  " : "  ", (int)width,
				family->sketches[i][row]);
		if (!empty)
			fputc('\n', out);
	}
	for (size_t i = 0; i < family->count; i++)
		fprintf(out, "  %zu  %s\n", i + 1,
			family->words ? family->words[i] : words_fracture((int)i + 1));
}

char *sketches_help(void)
{
	static const struct family *const families[] = {&cylinders, &kinds, &beams, &splits};
	char *text = NULL;
	size_t size;
	FILE *out = open_memstream(&text, &size);
	if (!out)
		return NULL;
	fputs("TYPE is a number of the run's method, whose own words are what counts "
	      "(`ramplog methods METHOD`):\n",
		out);
	for (size_t i = 0; i < sizeof families / sizeof families[0]; i++)
		put_family(out, families[i]);
	return fclose(out) == 0 ? text : NULL;
}
