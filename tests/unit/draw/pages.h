/* SPDX-License-Identifier: MIT
 *
 * What tests of pages share: finding text on a page, and bytes as a writer gives them.
 */
#ifndef TESTS_UNIT_DRAW_PAGES_H
#define TESTS_UNIT_DRAW_PAGES_H

#include "draw/page_write.h"

#include <pango/pangocairo.h>
#include <stdlib.h>
#include <string.h>

/* What the font libraries keep for the process is no leak, and cannot be given back: a thread of
 * pango's, which nobody can wait for, may still look at it. For the leak checker: no code of ours
 * calls fontconfig. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
	return "leak:libfontconfig\n";
}

struct pages_bytes {
	char *bytes; /* owned; ended by a NUL */
	size_t count;
};

static inline bool pages_take(void *context, const void *bytes, size_t count)
{
	struct pages_bytes *all = context;
	char *grown = realloc(all->bytes, all->count + count + 1);
	if (!grown)
		return false;
	all->bytes = grown;
	memcpy(grown + all->count, bytes, count);
	all->count += count;
	grown[all->count] = '\0';
	return true;
}

/* The mark whose text is just this; NULL if there is none. */
static inline const struct page_mark *pages_find(const struct page *page, const char *text)
{
	for (size_t i = 0; i < page->mark_count; i++) {
		const struct page_mark *mark = &page->marks[i];
		if (mark->kind == PAGE_MARK_TEXT && strcmp(page->text + mark->first, text) == 0)
			return mark;
	}
	return NULL;
}

/* The body of a line of text, without what hangs below the baseline. */
static inline struct page_box pages_body(const struct page_mark *mark)
{
	struct page_box body = mark->box;
	body.height *= 0.7;
	body.y -= body.height;
	return body;
}

static inline bool pages_overlap(struct page_box a, struct page_box b)
{
	return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height &&
	       b.y < a.y + a.height;
}

#endif
