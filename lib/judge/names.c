/* SPDX-License-Identifier: MIT
 *
 * The words for end, verdict and basis, as stored and printed.
 */
#include "judge/judge.h"

#include <string.h>

static const char *const end_names[] = {
	[END_BROKEN] = "broken",
	[END_UNLOADED] = "unloaded",
	[END_INTERRUPTED] = "interrupted",
	[END_NO_LOAD] = "no_load",
};

static const char *const verdict_names[] = {
	[VERDICT_NONE] = "",
	[VERDICT_IN_BAND] = "in_band",
	[VERDICT_OUT_OF_BAND] = "out_of_band",
	[VERDICT_UNDETERMINED] = "undetermined",
};

static const char *const basis_names[] = {
	[BASIS_ANTICIPATED] = "anticipated",
	[BASIS_MAXIMUM] = "maximum",
};

const char *end_text(enum end end)
{
	return end_names[end];
}

const char *verdict_text(enum verdict verdict)
{
	return verdict_names[verdict];
}

const char *basis_text(enum basis basis)
{
	return basis_names[basis];
}

/* The index of text in names, or count. */
static size_t find_name(const char *const *names, size_t count, const char *text)
{
	size_t i = 0;
	while (i < count && strcmp(names[i], text) != 0)
		i++;
	return i;
}

bool end_parse(const char *text, enum end *end)
{
	size_t count = sizeof end_names / sizeof end_names[0];
	size_t i = find_name(end_names, count, text);
	if (i < count)
		*end = (enum end)i;
	return i < count;
}

bool verdict_parse(const char *text, enum verdict *verdict)
{
	size_t count = sizeof verdict_names / sizeof verdict_names[0];
	size_t i = find_name(verdict_names, count, text);
	if (i < count)
		*verdict = (enum verdict)i;
	return i < count;
}

bool basis_parse(const char *text, enum basis *basis)
{
	size_t count = sizeof basis_names / sizeof basis_names[0];
	size_t i = find_name(basis_names, count, text);
	if (i < count)
		*basis = (enum basis)i;
	return i < count;
}
