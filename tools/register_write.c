/* SPDX-License-Identifier: MIT */
#include "register_write.h"

#include "commands.h"
#include "result/methods.h"

#include <stdio.h>

int register_write(struct writing *writing, const struct registration *registration)
{
	json_t *answer = NULL, *flag;
	size_t i;
	const struct specimen *specimen = &registration->specimen;
	char density[32];
	writing->request.specimen = *specimen;
	writing->request.detail = registration->detail;
	writing->answer = &answer;
	int code = writing_do(writing);
	if (code == EXIT_DONE) {
		detail_density_text(method_find(specimen->method),
			detail_density_kg_m3(specimen, &registration->detail), density,
			sizeof density);
		printf("%s is %s, %.1f mm2%s%s\n", specimen->id,
			writing->request.ask == REQUEST_REGISTER ? "registered" : "corrected",
			specimen_area_m2(specimen) * 1e6, density[0] ? ", " : "", density);
	}
	json_array_foreach(json_object_get(answer, "flags"), i, flag)
		fprintf(stderr, "%s: NOTE: %s\n", specimen->id, json_string_value(flag));
	json_decref(answer);
	return code;
}
