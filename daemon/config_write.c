/* SPDX-License-Identifier: MIT
 *
 * The configuration in force as a file; the table of keys, with what its choices are, as the
 * manual's text.
 */
#include "config.h"

#include "config_cell.h"
#include "config_keys.h"
#include "result/methods.h"

/* decoder: a cell's; NULL elsewhere. */
static void write_section(enum config_scope scope, const struct config_section *section,
	const void *base, const struct decoder *decoder, FILE *file)
{
	char buffer[CONFIG_PATH_SIZE + 64];

	fprintf(file, "[%s%s%s]\n", config_scope_text(scope), section->name[0] ? " " : "",
		section->name);
	for (size_t i = 0; i < config_key_count; i++) {
		const struct config_key *key = &config_keys[i];
		struct text text;

		if (key->scope != scope || (!key->standard && !section->key_lines[i]))
			continue;
		if (decoder && !section->key_lines[i] && !config_key_applies(key, decoder))
			continue;
		if (section->key_wrong[i]) {
			fprintf(file, "; %s was refused\n", key->name);
			continue;
		}
		text_init(&text, buffer, sizeof buffer);
		key->type->write((const char *)base + key->offset, &text);
		if (!buffer[0]) /* not given, and nothing follows */
			continue;
		fprintf(file, "%s = %s%s\n", key->name, buffer,
			section->key_lines[i] ? "" : " ; default");
	}
}

/* What the reader of a config wants to know first: is this what my indicator sends? */
static void write_example(const struct config_cell *cell, FILE *file)
{
	char buffer[400];
	struct text text;

	text_init(&text, buffer, sizeof buffer);
	if (cell->example.text[0] && config_cell_example(cell, &text, NULL))
		fprintf(file, "; the example decodes to %s\n", buffer);
}

void config_write(const struct config *config, FILE *file)
{
	write_section(CONFIG_RAMPLOGD, &config->section, config, NULL, file);
	for (size_t i = 0; i < config->press_count; i++) {
		fputc('\n', file);
		write_section(
			CONFIG_PRESS, &config->presses[i].section, &config->presses[i], NULL, file);
	}
	for (size_t i = 0; i < config->cell_count; i++) {
		fputc('\n', file);
		const struct config_cell *cell = &config->cells[i];

		write_section(CONFIG_CELL, &cell->section, cell, cell->decoder, file);
		write_example(cell, file);
	}
}

static void write_methods(FILE *file)
{
	fputs("\n### Test methods\n\n| `method` | standard |\n| --- | --- |\n", file);
	for (size_t i = 0; i < methods_count(); i++)
		fprintf(file, "| `%s` | %s |\n", methods_at(i)->name, methods_at(i)->standard);
}

static void write_decoders(FILE *file)
{
	fputs("\n### Protocols\n\n| `decoder` | on the wire |\n| --- | --- |\n", file);
	for (const struct decoder *decoder = decoder_table(); decoder->name; decoder++)
		fprintf(file, "| `%s` | %s |\n", decoder->name, decoder->summary);
}

static void write_table(FILE *file)
{
	int scope = -1;

	for (size_t i = 0; i < config_key_count; i++) {
		const struct config_key *key = &config_keys[i];

		if ((int)key->scope != scope) {
			scope = (int)key->scope;
			fprintf(file, "%s### [%s%s]\n\n", i ? "\n" : "",
				config_scope_text(key->scope),
				scope == CONFIG_RAMPLOGD ? "" : " NAME");
			fputs("| key | value | default | range | meaning |\n"
			      "| --- | --- | --- | --- | --- |\n",
				file);
		}
		fprintf(file, "| `%s` | %s | %s | ", key->name, key->type->name,
			!key->standard      ? "must be given"
			: !key->standard[0] ? "see right"
					    : key->standard);
		if (key->high > 0)
			fprintf(file, "%.10g to %.10g%s%s", key->low, key->high,
				key->unit[0] ? " " : "", key->unit);
		fprintf(file, " | %s |\n", key->help);
	}
}

void config_keys_write(FILE *file)
{
	write_table(file);
	write_methods(file);
	write_decoders(file);
}
