/* SPDX-License-Identifier: MIT
 *
 * What the database has of each press of a configuration, as remarks below it. Read only; a
 * database that is not there yet has nothing to say.
 */
#include "due.h"

#include "now.h"
#include "store/store.h"

#include <unistd.h>

static void write_day(const char *what, struct utc_time time, FILE *file)
{
	char text[CLOCKS_UTC_TEXT_SIZE];

	clocks_utc_text(time, text);
	fprintf(file, "%s %.10s", what, text);
}

static void write_press(struct store *store, const char *press, struct utc_time now, FILE *file)
{
	struct standing standing;
	struct utc_time care;
	struct message text;

	if (store_standing(store, press, now, &standing) != STORE_OK ||
		store_care_last(store, press, &care) != STORE_OK) {
		fprintf(file, "; press %s: %s\n", press, store_error(store));
		return;
	}
	fprintf(file, "; press %s: ", press);
	if (standing_reportable(&standing, 0, &text))
		write_day("verification due", standing.due, file);
	else
		fputs(text.text, file);
	fputs("; ", file);
	if (upkeep_care_is_due(care, now, &text))
		fputs(text.text, file);
	else
		write_day("care of ball and socket due",
			clocks_utc_months_later(care, UPKEEP_CARE_MONTHS), file);
	fputc('\n', file);
}

void due_write(const struct config *config, FILE *file)
{
	struct store *store = NULL;
	struct message why = {""};

	if (access(config->database, F_OK) != 0)
		return;
	fputc('\n', file);
	if (store_open(&store, config->database, STORE_READ, &why) != STORE_OK) {
		fprintf(file, "; what is due cannot be told: %s\n", why.text);
		return;
	}
	for (size_t i = 0; i < config->press_count; i++)
		write_press(store, config->presses[i].section.name, now_utc(), file);
	store_close(store);
}
