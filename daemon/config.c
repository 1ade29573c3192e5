/* SPDX-License-Identifier: MIT
 *
 * Reading the configuration: base/ini_lines takes the lines apart; what is said here is which
 * sections and keys there are, that each stands once, and what must hold between them.
 */
#include "config.h"

#include "base/ini_lines.h"
#include "config_cell.h"
#include "config_keys.h"
#include "store/method_folder.h"

#include <assert.h>
#include <ctype.h>
#include <errno.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

struct loader {
	struct config *config;
	const char *path;
	FILE *file;
	int line;
	bool known; /* the present section is one of ours; otherwise its keys are passed over */
	enum config_scope scope;
	struct config_section *section; /* NULL: before the first one */
	void *base;                     /* what the offsets of the scope count from */
	config_complain *complain;
	void *context;
	size_t error_count;
};

static void complain_at(struct loader *loader, int line, const char *format, ...)
	__attribute__((format(printf, 3, 4)));

static void complain_at(struct loader *loader, int line, const char *format, ...)
{
	char text[MESSAGE_SIZE + CONFIG_PATH_SIZE];
	int length = line ? snprintf(text, sizeof text, "%.255s:%d: ", loader->path, line)
			  : snprintf(text, sizeof text, "%.255s: ", loader->path);
	va_list arguments;

	va_start(arguments, format);
	vsnprintf(text + length, sizeof text - (size_t)length, format, arguments);
	va_end(arguments);
	loader->error_count++;
	loader->complain(loader->context, text);
}

static void apply_defaults(enum config_scope scope, void *base)
{
	for (size_t i = 0; i < config_key_count; i++) {
		const struct config_key *key = &config_keys[i];

		if (key->scope != scope || !key->standard || !key->standard[0])
			continue;
		bool ok = key->type->read(key, key->standard, (char *)base + key->offset, NULL);
		assert(ok);
	}
}

static bool is_name(const char *name)
{
	size_t length = strlen(name);

	return length > 0 && length < CONFIG_NAME_SIZE &&
	       strspn(name, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789._-") ==
		       length;
}

static struct config_section *find_section(
	struct config *config, enum config_scope scope, const char *name)
{
	for (size_t i = 0; scope == CONFIG_PRESS && i < config->press_count; i++) {
		if (strcmp(config->presses[i].section.name, name) == 0)
			return &config->presses[i].section;
	}
	for (size_t i = 0; scope == CONFIG_CELL && i < config->cell_count; i++) {
		if (strcmp(config->cells[i].section.name, name) == 0)
			return &config->cells[i].section;
	}
	return scope == CONFIG_RAMPLOGD && config->section.line ? &config->section : NULL;
}

/* Room for one more, or NULL. Sections stand first in what they describe. */
static struct config_section *add_section(struct config *config, enum config_scope scope)
{
	switch (scope) {
	case CONFIG_RAMPLOGD:
		return &config->section;
	case CONFIG_PRESS:
		if (config->press_count == CONFIG_PRESSES_MAX)
			return NULL;
		apply_defaults(scope, &config->presses[config->press_count]);
		return &config->presses[config->press_count++].section;
	default:
		if (config->cell_count == CONFIG_CELLS_MAX)
			return NULL;
		apply_defaults(scope, &config->cells[config->cell_count]);
		return &config->cells[config->cell_count++].section;
	}
}

static void begin_section(struct loader *loader, enum config_scope scope, const char *name)
{
	struct config_section *earlier = find_section(loader->config, scope, name);

	if (earlier) {
		complain_at(loader, loader->line,
			"section [%s%s%s] was begun on line %d already: put its keys there",
			config_scope_text(scope), name[0] ? " " : "", name, earlier->line);
		return;
	}
	struct config_section *section = add_section(loader->config, scope);
	if (!section) {
		complain_at(loader, loader->line, "more than %d sections of this kind",
			scope == CONFIG_PRESS ? CONFIG_PRESSES_MAX : CONFIG_CELLS_MAX);
		return;
	}
	strcpy(section->name, name);
	section->line = loader->line;
	loader->known = true;
	loader->scope = scope;
	loader->section = section;
	loader->base = scope == CONFIG_RAMPLOGD ? (void *)loader->config : (void *)section;
}

/* text: what stands between the brackets. */
static void take_section(struct loader *loader, char *text)
{
	char *name = text + strcspn(text, " \t");

	if (*name)
		*name++ = '\0';
	name += strspn(name, " \t");
	for (int scope = CONFIG_RAMPLOGD; scope < CONFIG_SCOPES; scope++) {
		if (strcmp(text, config_scope_text((enum config_scope)scope)) != 0)
			continue;
		if ((scope == CONFIG_RAMPLOGD) != (name[0] == '\0') ||
			(name[0] && !is_name(name))) {
			complain_at(loader, loader->line,
				"[%s %s]: [ramplogd] has no name; a press or a cell has one of 1 to"
				" %d letters, digits, dots, dashes",
				text, name, CONFIG_NAME_SIZE - 1);
			return;
		}
		begin_section(loader, (enum config_scope)scope, name);
		return;
	}
	complain_at(loader, loader->line,
		"unknown section [%s]: [ramplogd], [press NAME] or [cell NAME] is meant", text);
}

/* ini_lines: one section; NULL: it was malformed. */
static void begin(void *context, int line, char *text)
{
	struct loader *loader = context;

	loader->line = line;
	loader->known = false;
	if (text)
		take_section(loader, text);
}

static void refuse(void *context, int line, const char *what)
{
	complain_at(context, line, "%s", what);
}

/* ini_lines: one key. */
static void take_key(void *context, int line, const char *name, const char *value)
{
	struct loader *loader = context;
	struct message why;

	loader->line = line;
	if (!loader->known)
		return;
	for (size_t i = 0; i < config_key_count; i++) {
		const struct config_key *key = &config_keys[i];

		if (key->scope != loader->scope || strcmp(key->name, name) != 0)
			continue;
		int *given = &loader->section->key_lines[i];
		if (*given)
			complain_at(loader, loader->line,
				"%s was given on line %d already: keep one of the two", name,
				*given);
		else if (!key->type->read(key, value, (char *)loader->base + key->offset, &why)) {
			complain_at(loader, loader->line, "%s", why.text);
			loader->section->key_wrong[i] = true;
		}
		if (!*given)
			*given = loader->line;
		return;
	}
	complain_at(loader, loader->line,
		"unknown key %s in [%s]: ramplogd --keys lists the known ones", name,
		config_scope_text(loader->scope));
}

static int key_line(const struct config_section *section, const char *name, enum config_scope scope)
{
	for (size_t i = 0; i < config_key_count; i++) {
		if (config_keys[i].scope == scope && strcmp(config_keys[i].name, name) == 0)
			return section->key_lines[i] ? section->key_lines[i] : section->line;
	}
	return section->line;
}

static void check_required(
	struct loader *loader, enum config_scope scope, const struct config_section *section)
{
	for (size_t i = 0; i < config_key_count; i++) {
		if (config_keys[i].scope == scope && !config_keys[i].standard &&
			!section->key_lines[i])
			complain_at(loader, section->line, "[%s %s] needs a line %s = ...",
				config_scope_text(scope), section->name, config_keys[i].name);
	}
}

/* NULL: both may share the line. */
static const char *sharing_error(const struct config_cell *one, const struct config_cell *other)
{
	if (!one->decoder->addressed || one->decoder != other->decoder)
		return "is the device of cell %s already: each needs a port of its own";
	if (one->port.baud != other->port.baud || one->port.data_bits != other->port.data_bits ||
		one->port.parity != other->port.parity ||
		one->port.stop_bits != other->port.stop_bits || one->port.flow != other->port.flow)
		return "is the line of cell %s too: both need the same baud, format and flow";
	if (one->setup.modbus.address == other->setup.modbus.address)
		return "is the line of cell %s too: each needs an address of its own";
	return NULL;
}

/* Cells with the same device are on one line. */
static void attach_line(struct loader *loader, size_t index)
{
	struct config *config = loader->config;
	struct config_cell *cell = &config->cells[index];
	bool found = false;

	for (size_t i = 0; i < index && cell->port.device[0]; i++) {
		const struct config_cell *other = &config->cells[i];
		char format[120];

		if (strcmp(other->port.device, cell->port.device) != 0)
			continue;
		const char *error = sharing_error(cell, other);
		found = true;
		cell->line = other->line;
		if (!error)
			continue;
		snprintf(format, sizeof format, "%%s %s", error);
		complain_at(loader, key_line(&cell->section, "device", CONFIG_CELL), format,
			cell->port.device, other->section.name);
	}
	if (!found) {
		cell->line = config->line_count;
		config->lines[config->line_count++] = index;
	}
}

static size_t cell_key(const char *name)
{
	size_t i = 0;

	while (config_keys[i].scope != CONFIG_CELL || strcmp(config_keys[i].name, name) != 0)
		i++;
	assert(i < config_key_count);
	return i;
}

/* What is given and says nothing would be believed to be in force. */
static void check_protocol(struct loader *loader, const struct config_cell *cell)
{
	for (size_t i = 0; i < config_key_count; i++) {
		const struct config_key *key = &config_keys[i];
		int line = cell->section.key_lines[i];

		if (key->scope != CONFIG_CELL || !line || !key->only ||
			strcmp(key->only, CONFIG_ASKED) == 0 ||
			config_key_applies(key, cell->decoder))
			continue;
		complain_at(loader, line,
			"%s is for decoder = %s, and this cell's is %s: take it out", key->name,
			key->only, cell->decoder->name);
	}
}

static void settle_cell(struct loader *loader, struct config_cell *cell)
{
	struct message why = {""};
	const char *key = "";

	const bool *wrong = cell->section.key_wrong;
	const int *given = cell->section.key_lines;

	check_required(loader, CONFIG_CELL, &cell->section);
	check_protocol(loader, cell);
	/* Where one of them was refused, nothing more can be said of the others. */
	cell->has_scale =
		!wrong[cell_key("unit")] && !wrong[cell_key("factor")] && !wrong[cell_key("area")];
	if (!config_cell_settle(cell, given[cell_key("factor")] != 0, &key, &why))
		complain_at(loader, key_line(&cell->section, key, CONFIG_CELL), "%s", why.text);
}

static void attach_cell(struct loader *loader, size_t index)
{
	struct config *config = loader->config;
	struct config_cell *cell = &config->cells[index];
	int line = key_line(&cell->section, "press", CONFIG_CELL);

	attach_line(loader, index);
	for (size_t i = 0; i < config->press_count; i++) {
		struct config_press *press = &config->presses[i];

		if (strcmp(press->section.name, cell->press_name) != 0)
			continue;
		if (press->cell_count == SUM_CELLS_MAX)
			complain_at(loader, line, "press %s has more than %d cells",
				press->section.name, SUM_CELLS_MAX);
		else
			press->cells[press->cell_count++] = index;
		return;
	}
	if (cell->press_name[0])
		complain_at(loader, line, "there is no [press %s]: add it, or correct the name",
			cell->press_name);
}

static int64_t load_of(const struct config_press *press, const struct config_contact *load)
{
	return load->load_un ? load->load_un : (int64_t)((double)press->capacity_un * load->share);
}

/* All cells of a press have a place, or none. */
static void settle_places(struct loader *loader, const struct config_press *press)
{
	struct thrust_place places[SUM_CELLS_MAX];
	size_t known = 0;

	for (size_t i = 0; i < press->cell_count; i++) {
		const struct config_cell *cell = &loader->config->cells[press->cells[i]];

		known += cell->place.known;
		places[i] = cell->place.at;
	}
	if (known == 0)
		return;
	if (known < press->cell_count)
		complain_at(loader, press->section.line,
			"press %s: some of its cells have a position and some have none: give all "
			"of them one, or none",
			press->section.name);
	else if (!thrust_is_told(places, known))
		complain_at(loader, press->section.line,
			"press %s: from the positions of its cells no point of thrust can be told: "
			"three or more are needed, not in one line",
			press->section.name);
}

/* What one cell really sent is a load that its press can have. */
static void check_example(
	struct loader *loader, const struct config_press *press, const struct config_cell *cell)
{
	int64_t load_un = 0;

	if (press->capacity_un && config_cell_load(cell, &load_un) &&
		llabs(load_un) > press->capacity_un)
		complain_at(loader, key_line(&cell->section, "example", CONFIG_CELL),
			"example = %s: a load of %.10g kN, and the capacity of press %s is %.10g "
			"kN: correct unit, factor or pattern",
			cell->example.text, (double)load_un * 1e-9, press->section.name,
			(double)press->capacity_un * 1e-9);
}

static void settle_press(struct loader *loader, struct config_press *press)
{
	int line = key_line(&press->section, "contact", CONFIG_PRESS);

	check_required(loader, CONFIG_PRESS, &press->section);
	if (!press->cell_count)
		complain_at(loader, press->section.line,
			"press %s has no cell: add a [cell NAME] with press = %s",
			press->section.name, press->section.name);
	press->contact_un = load_of(press, &press->contact);
	press->zero_limit_un = load_of(press, &press->zero_limit);
	press->drift_limit_un = load_of(press, &press->drift_limit);
	settle_places(loader, press);
	if (press->capacity_un && press->contact_un * 2 > press->capacity_un)
		complain_at(loader, line,
			"contact is more than half of the capacity: give the load from which the "
			"specimen bears, as in contact = 0.1 %%");
	for (size_t i = 0; i < press->cell_count; i++)
		check_example(loader, press, &loader->config->cells[press->cells[i]]);
}

/* What can only be said when the whole file was read. */
static void settle(struct loader *loader)
{
	struct config *config = loader->config;

	if (!config->press_count)
		complain_at(loader, 0,
			"no [press NAME]: add one, and a [cell NAME] with the port to listen to");
	for (size_t i = 0; i < config->cell_count; i++) {
		settle_cell(loader, &config->cells[i]);
		attach_cell(loader, i);
	}
	for (size_t i = 0; i < config->press_count; i++)
		settle_press(loader, &config->presses[i]);
}

static struct config *config_create(void)
{
	struct config *config = calloc(1, sizeof *config);

	assert(config);
	apply_defaults(CONFIG_RAMPLOGD, config);
	return config;
}

/* ---- the methods, which must be known before a press may name one */

struct prelude {
	char *folder;
	bool ours;
};

static void prelude_section(void *context, int line, char *text)
{
	struct prelude *prelude = context;

	(void)line;
	prelude->ours = text && strcmp(text, config_scope_text(CONFIG_RAMPLOGD)) == 0;
}

static void prelude_key(void *context, int line, const char *name, const char *value)
{
	struct prelude *prelude = context;

	(void)line;
	if (prelude->ours && strcmp(name, "methods") == 0)
		snprintf(prelude->folder, CONFIG_PATH_SIZE, "%s", value);
}

/* What is wrong is told when the file is read in earnest. */
static void prelude_wrong(void *context, int line, const char *what)
{
	(void)context;
	(void)line;
	(void)what;
}

static void complain_of_method(void *context, const char *text)
{
	struct loader *loader = context;

	loader->error_count++;
	loader->complain(loader->context, text);
}

static void load_methods(struct loader *loader)
{
	char folder[CONFIG_PATH_SIZE] = METHOD_FOLDER_DEFAULT;
	struct prelude prelude = {.folder = folder};
	const struct ini_lines lines = {&prelude, prelude_section, prelude_key, prelude_wrong};

	ini_lines_parse(&lines, loader->file);
	rewind(loader->file);
	if (folder[0] == '/')
		method_folder_load(folder, complain_of_method, loader);
}

struct config *config_load(
	const char *path, config_complain *complain, void *context, struct config **partial)
{
	struct loader loader = {.path = path, .complain = complain, .context = context};
	const struct ini_lines lines = {&loader, begin, take_key, refuse};

	if (partial)
		*partial = NULL;
	loader.file = fopen(path, "re");
	if (!loader.file) {
		complain_at(&loader, 0, "%s: name a file that can be read", strerror(errno));
		return NULL;
	}
	load_methods(&loader);
	loader.config = config_create();
	ini_lines_parse(&lines, loader.file);
	if (ferror(loader.file))
		complain_at(&loader, 0, "reading failed: %s", strerror(errno));
	fclose(loader.file);
	settle(&loader);
	if (!loader.error_count)
		return loader.config;
	if (partial)
		*partial = loader.config;
	else
		config_destroy(loader.config);
	return NULL;
}

void config_destroy(struct config *config)
{
	free(config);
}
