/* SPDX-License-Identifier: MIT */
#include "report_say.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LINES_MOST = 3 };

static struct report_sentence *find(struct report_says *says, bool alert, const char *words)
{
	for (size_t i = 0; i < says->count; i++) {
		if (says->sentences[i].alert == alert &&
			strcmp(says->sentences[i].words, words) == 0)
			return &says->sentences[i];
	}
	return NULL;
}

static bool add_name(struct report_sentence *sentence, const struct report_run *run)
{
	char *names;
	if (sentence->run == run)
		return true;
	if (asprintf(&names, "%s%s%s", sentence->names ? sentence->names : "",
		    sentence->names ? ", " : "", report_specimen(run)) < 0)
		return false;
	free(sentence->names);
	sentence->names = names;
	sentence->run = run;
	sentence->of++;
	return true;
}

/* Takes the words. */
static struct report_sentence *add(struct report_says *says, bool alert, char *words)
{
	if (says->count == says->room) {
		size_t room = says->room ? 2 * says->room : 16;
		struct report_sentence *grown =
			realloc(says->sentences, room * sizeof(*says->sentences));
		if (!grown) {
			free(words);
			return NULL;
		}
		says->sentences = grown;
		says->room = room;
	}
	struct report_sentence *sentence = &says->sentences[says->count++];
	*sentence = (struct report_sentence){.alert = alert, .words = words};
	return sentence;
}

void report_say(
	struct report_says *says, const struct report_run *run, bool alert, const char *format, ...)
{
	va_list arguments;
	char *words;
	va_start(arguments, format);
	int length = vasprintf(&words, format, arguments);
	va_end(arguments);
	if (length < 0) {
		says->failed = true;
		return;
	}
	struct report_sentence *sentence = find(says, alert, words);
	if (sentence)
		free(words);
	else
		sentence = add(says, alert, words);
	if (!sentence || !add_name(sentence, run))
		says->failed = true;
}

static char *line_of(const struct report_sentence *sentence, size_t of)
{
	const char *names = sentence->of == of && of > 2 ? "all" : sentence->names;
	char *line;
	return asprintf(&line, "%s: %s", names ? names : "", sentence->words) < 0 ? NULL : line;
}

/* What needs no bar, as one paragraph: a line each would take the page from the curves. */
static void put_joined(const struct report_says *says, struct sheet *sheet, size_t of)
{
	char *joined = NULL;
	size_t size;
	FILE *stream = open_memstream(&joined, &size);
	for (size_t i = 0; stream && i < says->count; i++) {
		char *line = says->sentences[i].alert ? NULL : line_of(&says->sentences[i], of);
		if (line)
			fprintf(stream, "%s%s", ftell(stream) > 0 ? " " : "", line);
		free(line);
	}
	if (stream && fclose(stream) == 0)
		sheet_text(sheet, "%s", joined);
	else
		sheet->failed = true;
	free(joined);
}

void report_say_put(struct report_says *says, struct sheet *sheet, size_t of)
{
	size_t quiet = 0;
	for (size_t i = 0; i < says->count; i++)
		quiet += !says->sentences[i].alert;
	if (quiet > LINES_MOST)
		put_joined(says, sheet, of);
	for (size_t i = 0; i < says->count; i++) {
		struct report_sentence *sentence = &says->sentences[i];
		char *line = line_of(sentence, of);
		if (line && sentence->alert)
			sheet_alert(sheet, "%s", line);
		else if (line && quiet <= LINES_MOST)
			sheet_text(sheet, "%s", line);
		sheet->failed = sheet->failed || !line;
		free(line);
		free(sentence->words);
		free(sentence->names);
	}
	free(says->sentences);
	sheet->failed = sheet->failed || says->failed;
	*says = (struct report_says){.sentences = NULL};
}
