/* SPDX-License-Identifier: MIT
 *
 * What a daemon says, for tests of the monitor. An invented laboratory.
 */
#ifndef TESTS_UNIT_TOOLS_LINES_H
#define TESTS_UNIT_TOOLS_LINES_H

#define LINES_SPECIMEN(id) \
	"{\"id\":\"" id "\",\"set\":\"quay-7\",\"shape\":\"cylinder\",\"width_mm\":[100,100]," \
	"\"length_mm\":200,\"anticipated_mpa\":30,\"method\":\"astm-c39\"}"

#define LINES_STATUS \
	"{\"ok\":true,\"program\":\"ramplogd\",\"version\":\"0.1.0\",\"database\":\"\"," \
	"\"durable\":true,\"presses\":[{\"press\":\"north\",\"method\":\"astm-c39\"," \
	"\"capacity_n\":2000000,\"phase\":\"idle\",\"seated\":" LINES_SPECIMEN( \
		"quay-7-1") "," \
			    "\"cells\":[{\"cell\":\"c1\",\"device\":\"/dev/" \
			    "ttyUSB0\",\"state\":\"ready\"}]}," \
			    "{\"press\":\"south\",\"method\":\"astm-c39-inch-pound\",\"capacity_" \
			    "n\":1000000," \
			    "\"phase\":\"idle\",\"cells\":[]}]}"

#define LINES_RUN_OPEN \
	"{\"press\":\"north\",\"run_open\":{\"run\":12,\"specimen\":" LINES_SPECIMEN( \
		"quay-7-1") ",\"method\":\"astm-c39\",\"band_low_pa_s\":200000,\"band_high_pa_" \
			    "s\":300000," \
			    "\"area_mm2\":7853.98}}"

#define LINES_LIVE(press, phase, time, load, more) \
	"{\"press\":\"" press "\",\"live\":{\"phase\":\"" phase "\",\"time_s\":" time \
	",\"load_n\":" load ",\"maximum_n\":" load more "}}"

#define LINES_TOO_FAST \
	LINES_LIVE("north", "latter_half", "62.25", "140000", \
		",\"stress_pa\":17825000,\"rate_pa_s\":330000,\"rate_u_pa_s\":4000," \
		"\"band_begins_n\":117810,\"advice\":\"too_fast\",\"warning\":true," \
		"\"text\":\"rate 0.33 MPa/s, above 0.30: ease the valve\"")

#define LINES_RUN_CLOSED(run, verdict) \
	"{\"press\":\"north\",\"run_closed\":{\"run\":" run \
	",\"specimen\":\"quay-7-1\",\"method\":\"astm-c39\",\"end\":\"broken\"," \
	"\"maximum_load_n\":247300,\"strength_reported\":\"31.5 MPa\"," \
	"\"rate\":{\"verdict\":\"" verdict "\"},\"fracture\":null}}"

#endif
