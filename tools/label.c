/* SPDX-License-Identifier: MIT
 *
 * `ramplog label`: labels for specimens, for the terminal, a text file or a label printer.
 */
#include "draw/label.h"
#include "commands.h"
#include "options.h"
#include "output.h"
#include "result/age.h"
#include "stored.h"
#include "words.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { LABELS_MAX = 200, TEXT_SIZE = 64 * 1024 };

struct asked {
	const char *command, *database, *output;
	const char *ids[LABELS_MAX];
	size_t count;
	struct label labels[LABELS_MAX];
};

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct asked *asked = state->input;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &asked->database;
		state->child_inputs[1] = &asked->output;
		return 0;
	case ARGP_KEY_ARG:
		if (asked->count == LABELS_MAX)
			argp_error(state, "at most %d labels at a time", LABELS_MAX);
		asked->ids[asked->count++] = typed;
		return 0;
	case ARGP_KEY_END:
		if (asked->count == 0)
			argp_error(state, "labels for which SPECIMEN?");
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

static void add_line(struct label *label, const char *format, const char *value)
{
	if (value[0] && label->line_count < LABEL_LINES_MAX)
		snprintf(label->lines[label->line_count++], LABEL_LINE_SIZE, format, value);
}

static void fill(struct label *label, const struct specimen *specimen, const struct detail *detail)
{
	const struct method *method = method_find(specimen->method);
	char cast[CLOCKS_UTC_TEXT_SIZE] = "", due[CLOCKS_UTC_TEXT_SIZE + 32] = "";
	snprintf(label->id, sizeof label->id, "%s", specimen->id);
	add_line(label, "set %s", specimen->set);
	add_line(label, "%s", method ? method->standard : specimen->method);
	if (specimen->cast.ns > 0)
		words_minute(specimen->cast, cast);
	add_line(label, "cast %s", cast);
	if (method && specimen->cast.ns > 0 && detail->intended_age_ns > 0) {
		char at[CLOCKS_UTC_TEXT_SIZE], age[AGE_TEXT_SIZE];
		words_minute(age_due(method, specimen->cast, detail->intended_age_ns).at, at);
		age_text(detail->intended_age_ns, age);
		snprintf(due, sizeof due, "%s (%s)", at, age);
	}
	add_line(label, "due %s", due);
}

static int load(struct asked *asked, struct store *store)
{
	for (size_t i = 0; i < asked->count; i++) {
		struct specimen specimen;
		struct detail detail;
		enum store_status status = store_specimen_find(store, asked->ids[i], &specimen);
		if (status == STORE_NONE) {
			fprintf(stderr, "%s: there is no specimen %s: register it first\n",
				asked->command, asked->ids[i]);
			return EXIT_NO;
		}
		if (status == STORE_OK)
			status = store_detail_find(store, asked->ids[i], &detail);
		if (status != STORE_OK && status != STORE_NONE)
			return stored_failed(asked->command, store, status);
		fill(&asked->labels[i], &specimen, &detail);
	}
	return EXIT_DONE;
}

/* To standard output where output is NULL. */
static bool put_texts(const struct asked *asked, struct output *output)
{
	char *buffer = malloc(TEXT_SIZE);
	bool good = buffer != NULL;
	for (size_t i = 0; i < asked->count && good; i++) {
		struct text text;
		text_init(&text, buffer, TEXT_SIZE);
		good = label_text(&asked->labels[i], !output && isatty(STDOUT_FILENO), &text);
		text_put(&text, "\n");
		if (good && output)
			good = output_take(output, buffer, text.length);
		else if (good)
			fputs(buffer, stdout);
	}
	free(buffer);
	return good;
}

static bool put_pages(const struct asked *asked, enum page_format format, struct output *output)
{
	static struct page *pages[LABELS_MAX];
	const struct page_about about = {asked->count == 1 ? asked->ids[0] : "labels", ""};
	bool good = true;
	for (size_t i = 0; i < asked->count; i++) {
		pages[i] = label_page(&asked->labels[i]);
		good = good && pages[i];
	}
	good = good && page_write(pages, asked->count, &about, format, output_take, output);
	for (size_t i = 0; i < asked->count; i++)
		page_destroy(pages[i]);
	return good;
}

static int write_labels(const struct asked *asked)
{
	enum page_format format = PAGE_SVG;
	if (!asked->output)
		return put_texts(asked, NULL) ? EXIT_DONE : EXIT_CANNOT;
	const char *ending = strrchr(asked->output, '.');
	bool text = ending && strcmp(ending, ".txt") == 0;
	if (!text && !page_format_of(asked->output, &format)) {
		fprintf(stderr, "%s: %s: name a file that ends in .svg, .pdf, .png or .txt\n",
			asked->command, asked->output);
		return EXIT_CANNOT;
	}
	struct output *output = output_open(asked->command, asked->output);
	if (!output)
		return EXIT_CANNOT;
	return output_close(
		output, text ? put_texts(asked, output) : put_pages(asked, format, output));
}

int label_main(int argc, char **argv)
{
	const struct argp_child children[] = {
		{&options_database, 0, NULL, 0}, {&output_argp, 0, NULL, 0}, {0}};
	const struct argp argp = {NULL, parse, "SPECIMEN...",
		"Makes labels for registered specimens: their ids as QR code and Code 128, with "
		"what a person wants to read. Into FILE.svg, .pdf, .png or .txt; without -o onto "
		"the terminal.",
		children, NULL, NULL};
	static struct asked asked;
	struct store *store;
	asked = (struct asked){.command = argv[0]};
	argp_parse(&argp, argc, argv, 0, NULL, &asked);
	int code = stored_open(asked.command, asked.database, &store);
	if (code != EXIT_DONE)
		return code;
	code = load(&asked, store);
	store_close(store);
	return code == EXIT_DONE ? write_labels(&asked) : code;
}
