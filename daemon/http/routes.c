/* Every address of the service, in one place. openapi.json says what they take and answer. */
#include "daemon/http/routes.h"

#include "coat/picture.h"

#define V1 "/api/v1"

const struct http_route http_routes[] = {
    {.method = "GET", .path = "/", .handle = http_assets},
    {.method = "GET", .path = "/assets/{*}", .handle = http_assets},
    {.method = "GET", .path = "/metrics", .handle = route_metrics},
    {.method = "GET", .path = "/api/openapi.json", .handle = route_openapi},

    {.method = "GET", .path = V1 "/shop", .handle = route_shop_get},
    {.method = "PATCH", .path = V1 "/shop", .handle = route_shop_change},

    {.method = "GET", .path = V1 "/places", .handle = route_places_list},
    {.method = "POST", .path = V1 "/places", .handle = route_place_add},
    {.method = "GET", .path = V1 "/places/{id}", .handle = route_place_get},
    {.method = "PATCH", .path = V1 "/places/{id}", .handle = route_place_change},
    {.method = "DELETE", .path = V1 "/places/{id}", .handle = route_place_remove},
    {.method = "GET", .path = V1 "/places/{id}/readings", .handle = route_readings_list},
    {.method = "POST", .path = V1 "/places/{id}/readings", .handle = route_readings_enter, .body_max = HTTP_BODY_READINGS_MAX},
    {.method = "GET", .path = V1 "/places/{id}/air", .handle = route_air},
    {.method = "GET", .path = V1 "/places/{id}/vapour", .handle = route_vapour},
    {.method = "POST", .path = V1 "/places/{id}/vapour", .handle = route_vapour_release},
    {.method = "POST", .path = V1 "/places/{id}/heating", .handle = route_place_heat},

    {.method = "GET", .path = V1 "/sensors", .handle = route_sensors_list},
    {.method = "POST", .path = V1 "/sensors", .handle = route_sensor_add},
    {.method = "GET", .path = V1 "/sensors/{id}", .handle = route_sensor_get},
    {.method = "PATCH", .path = V1 "/sensors/{id}", .handle = route_sensor_change},
    {.method = "DELETE", .path = V1 "/sensors/{id}", .handle = route_sensor_remove},
    {.method = "GET", .path = V1 "/sensors/{id}/adjustments", .handle = route_adjustments_list},
    {.method = "POST", .path = V1 "/sensors/{id}/adjustments", .handle = route_sensor_adjust},
    {.method = "GET", .path = V1 "/sensors/{id}/suspects", .handle = route_suspects_list},
    {.method = "POST", .path = V1 "/sensor-tests", .handle = route_sensor_test_begin},
    {.method = "GET", .path = V1 "/sensor-tests/{id}", .handle = route_sensor_test_get},
    {.method = "POST", .path = V1 "/readings", .handle = route_push, .body_max = HTTP_BODY_READINGS_MAX, .sensor_token = true},

    {.method = "POST", .path = V1 "/imports", .handle = route_import_begin},
    {.method = "DELETE", .path = V1 "/imports/{id}", .handle = route_import_drop},
    {.method = "POST", .path = V1 "/imports/{id}/readings", .handle = route_import_add, .body_max = HTTP_BODY_READINGS_MAX},
    {.method = "POST", .path = V1 "/imports/{id}/finish", .handle = route_import_finish},

    {.method = "GET", .path = V1 "/pieces", .handle = route_pieces_list},
    {.method = "POST", .path = V1 "/pieces", .handle = route_piece_add},
    {.method = "GET", .path = V1 "/pieces/{id}", .handle = route_piece_get},
    {.method = "PATCH", .path = V1 "/pieces/{id}", .handle = route_piece_change},
    {.method = "DELETE", .path = V1 "/pieces/{id}", .handle = route_piece_remove},
    {.method = "GET", .path = V1 "/pieces/{id}/moves", .handle = route_moves_list},
    {.method = "POST", .path = V1 "/pieces/{id}/moves", .handle = route_piece_move},
    {.method = "POST", .path = V1 "/pieces/{id}/strips", .handle = route_piece_strip},
    {.method = "GET", .path = V1 "/pieces/{id}/record", .handle = route_record},
    {.method = "GET", .path = V1 "/pieces/{id}/code.svg", .handle = route_piece_code},
    {.method = "GET", .path = V1 "/pieces/{id}/notes", .handle = route_notes_list},
    {.method = "POST", .path = V1 "/pieces/{id}/notes", .handle = route_note_add},
    {.method = "GET", .path = V1 "/pieces/{id}/photos", .handle = route_photos_list},
    {.method = "POST", .path = V1 "/pieces/{id}/photos", .handle = route_photo_add, .body_max = PICTURE_BYTES_MAX, .picture = true},
    {.method = "GET", .path = V1 "/photos/{id}", .handle = route_photo_get},
    {.method = "DELETE", .path = V1 "/photos/{id}", .handle = route_photo_remove},

    {.method = "GET", .path = V1 "/racks", .handle = route_racks_list},
    {.method = "POST", .path = V1 "/racks", .handle = route_rack_add},
    {.method = "GET", .path = V1 "/racks/{id}", .handle = route_rack_get},
    {.method = "PATCH", .path = V1 "/racks/{id}", .handle = route_rack_change},
    {.method = "DELETE", .path = V1 "/racks/{id}", .handle = route_rack_remove},

    {.method = "GET", .path = V1 "/materials", .handle = route_materials_list},
    {.method = "POST", .path = V1 "/materials", .handle = route_material_add},
    {.method = "GET", .path = V1 "/materials/{id}", .handle = route_material_get},
    {.method = "PUT", .path = V1 "/materials/{id}", .handle = route_material_replace},
    {.method = "DELETE", .path = V1 "/materials/{id}", .handle = route_material_remove},
    {.method = "GET", .path = V1 "/materials/{id}/versions", .handle = route_material_versions},
    {.method = "POST", .path = V1 "/materials/{id}/lead", .handle = route_material_lead},

    {.method = "GET", .path = V1 "/solvents", .handle = route_solvents_list},

    {.method = "GET", .path = V1 "/coats", .handle = route_coats_list},
    {.method = "POST", .path = V1 "/coats", .handle = route_coats_log},
    {.method = "GET", .path = V1 "/coats/{id}", .handle = route_coat_get},
    {.method = "PATCH", .path = V1 "/coats/{id}", .handle = route_coat_amend},
    {.method = "GET", .path = V1 "/coats/{id}/entries", .handle = route_coat_entries},
    {.method = "GET", .path = V1 "/coats/{id}/why", .handle = route_coat_why},
    {.method = "POST", .path = V1 "/coats/{id}/strike", .handle = route_coat_strike},
    {.method = "POST", .path = V1 "/coats/{id}/sandings", .handle = route_coat_sand},
    {.method = "GET", .path = V1 "/coats/{id}/tests", .handle = route_tests_list},
    {.method = "POST", .path = V1 "/coats/{id}/tests", .handle = route_coat_test},

    {.method = "GET", .path = V1 "/tins", .handle = route_tins_list},
    {.method = "POST", .path = V1 "/tins", .handle = route_tin_add},
    {.method = "GET", .path = V1 "/tins/{id}", .handle = route_tin_get},
    {.method = "PATCH", .path = V1 "/tins/{id}", .handle = route_tin_change},
    {.method = "DELETE", .path = V1 "/tins/{id}", .handle = route_tin_remove},

    {.method = "GET", .path = V1 "/mixes", .handle = route_mixes_list},
    {.method = "POST", .path = V1 "/mixes", .handle = route_mix},

    {.method = "GET", .path = V1 "/bakes", .handle = route_bakes_list},
    {.method = "POST", .path = V1 "/bakes", .handle = route_bake_add},
    {.method = "GET", .path = V1 "/bakes/{id}", .handle = route_bake_get},
    {.method = "POST", .path = V1 "/bakes/{id}/answers", .handle = route_bake_answer},
    {.method = "POST", .path = V1 "/bakes/{id}/start", .handle = route_bake_start},
    {.method = "POST", .path = V1 "/bakes/{id}/stop", .handle = route_bake_stop},
    {.method = "POST", .path = V1 "/bakes/{id}/resume", .handle = route_bake_resume},

    {.method = "GET", .path = V1 "/check", .handle = route_check},

    {.method = "GET", .path = V1 "/notices", .handle = route_notices_list},
    {.method = "GET", .path = V1 "/notices/{id}", .handle = route_notice_get},
    {.method = "POST", .path = V1 "/notices/{id}/ack", .handle = route_notice_ack},

    {.method = "GET", .path = V1 "/channels", .handle = route_channels_list},
    {.method = "POST", .path = V1 "/channels", .handle = route_channel_add},
    {.method = "GET", .path = V1 "/channels/{id}", .handle = route_channel_get},
    {.method = "PATCH", .path = V1 "/channels/{id}", .handle = route_channel_change},
    {.method = "DELETE", .path = V1 "/channels/{id}", .handle = route_channel_remove},
    {.method = "POST", .path = V1 "/channel-tests", .handle = route_channel_test_begin},
    {.method = "GET", .path = V1 "/channel-tests/{id}", .handle = route_channel_test_get},
    {.method = "GET", .path = "/calendar.ics", .handle = route_calendar},
    {.method = "GET", .path = "/ack", .handle = route_ack_page},
    {.method = "POST", .path = "/ack", .handle = route_ack_form, .signed_form = true},

    {.method = "GET", .path = V1 "/cautions", .handle = route_cautions_list},
    {.method = "GET", .path = V1 "/events", .handle = http_events},
    {.method = "GET", .path = V1 "/clock", .handle = route_clock_get, .test_clock_only = true},
    {.method = "POST", .path = V1 "/clock", .handle = route_clock_move, .test_clock_only = true},
    {.method = NULL},
};
