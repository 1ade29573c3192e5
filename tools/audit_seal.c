/* SPDX-License-Identifier: MIT */
#include "audit_seal.h"

#include "commands.h"
#include "stored.h"

#include <ctype.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WORDS = 7, WORD_SIZE = 2 * STORE_SEAL_SIZE + 1 };

static void hex_text(const unsigned char *bytes, char text[WORD_SIZE])
{
	for (size_t i = 0; i < STORE_SEAL_SIZE; i++)
		snprintf(text + 2 * i, 3, "%02x", bytes[i]);
}

void audit_seal_text(int64_t run, const struct run_seal *seal, char *text, size_t size)
{
	char hash[WORD_SIZE], key[WORD_SIZE] = "none";
	hex_text(seal->hash, hash);
	if (seal->is_signed)
		hex_text(seal->public_key, key);
	snprintf(text, size, "ramplog run %" PRId64 " seal %s key %s", run, hash, key);
}

static int digit_of(char letter)
{
	static const char digits[] = "0123456789abcdef";
	const char *found = letter ? strchr(digits, tolower((unsigned char)letter)) : NULL;
	return found ? (int)(found - digits) : -1;
}

static bool hex_parse(const char *word, unsigned char bytes[STORE_SEAL_SIZE])
{
	if (strlen(word) != WORD_SIZE - 1)
		return false;
	for (size_t i = 0; i < STORE_SEAL_SIZE; i++) {
		int high = digit_of(word[2 * i]), low = digit_of(word[2 * i + 1]);
		if (high < 0 || low < 0)
			return false;
		bytes[i] = (unsigned char)(high << 4 | low);
	}
	return true;
}

/* The words of the text; false where there are more or fewer, or one is too long. */
static bool split(const char *text, char words[WORDS][WORD_SIZE])
{
	size_t count = 0;
	for (text += strspn(text, " \t\r\n"); *text; text += strspn(text, " \t\r\n")) {
		size_t length = strcspn(text, " \t\r\n");
		if (count == WORDS || length >= WORD_SIZE)
			return false;
		snprintf(words[count++], WORD_SIZE, "%.*s", (int)length, text);
		text += length;
	}
	return count == WORDS;
}

bool audit_seal_parse(const char *text, struct audit_seal *seal)
{
	static const char *const fixed[WORDS] = {"ramplog", "run", NULL, "seal", NULL, "key", NULL};
	char words[WORDS][WORD_SIZE], *end;
	if (!split(text, words))
		return false;
	for (size_t i = 0; i < WORDS; i++) {
		if (fixed[i] && strcasecmp(words[i], fixed[i]) != 0)
			return false;
	}
	seal->run = strtoll(words[2], &end, 10);
	seal->is_signed = strcasecmp(words[6], "none") != 0;
	return !*end && seal->run > 0 && hex_parse(words[4], seal->hash) &&
	       (!seal->is_signed || hex_parse(words[6], seal->public_key));
}

static void say_difference(
	const char *what, const unsigned char *printed, const unsigned char *stored)
{
	char text[WORD_SIZE];
	hex_text(printed, text);
	printf("the %s is not that of the database: %s is printed,\n", what, text);
	hex_text(stored, text);
	printf("%s is stored\n", text);
}

int audit_seal_check(const char *command, struct store *store, const struct audit_seal *seal)
{
	struct run_seal stored;
	enum store_status status = store_run_seal(store, seal->run, &stored);
	if (status == STORE_NONE) {
		printf("run %" PRId64 " is not there, or not sealed\n", seal->run);
		return EXIT_NO;
	}
	if (status != STORE_OK)
		return stored_failed(command, store, status);
	bool same_seal = memcmp(stored.hash, seal->hash, sizeof(seal->hash)) == 0;
	bool same_key = stored.is_signed == seal->is_signed &&
			(!seal->is_signed || memcmp(stored.public_key, seal->public_key,
						     sizeof(seal->public_key)) == 0);
	if (!same_seal)
		say_difference("seal", seal->hash, stored.hash);
	if (!same_key && seal->is_signed && stored.is_signed)
		say_difference("key", seal->public_key, stored.public_key);
	else if (!same_key)
		printf("the run is %s, on the report it is %s\n",
			stored.is_signed ? "signed" : "not signed",
			seal->is_signed ? "signed" : "not signed");
	if (!same_seal || !same_key)
		return EXIT_NO;
	printf("seal and key of run %" PRId64 " are those of the database\n", seal->run);
	return EXIT_DONE;
}
