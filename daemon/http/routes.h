/* The handlers of the route table (routes.c), each in the file of its subject. */
#ifndef COAT_ROUTES_H
#define COAT_ROUTES_H

#include "daemon/http/http.h"

#define ROUTE_HANDLER(name) \
    void name(struct http_context *context, const struct http_request *request, struct http_response *response)

/* route_shop.c */
ROUTE_HANDLER(route_shop_get);
ROUTE_HANDLER(route_shop_change);
/* route_place.c */
ROUTE_HANDLER(route_places_list);
ROUTE_HANDLER(route_place_add);
ROUTE_HANDLER(route_place_get);
ROUTE_HANDLER(route_place_change);
ROUTE_HANDLER(route_place_remove);
ROUTE_HANDLER(route_readings_list);
ROUTE_HANDLER(route_readings_enter);
ROUTE_HANDLER(route_place_heat);
/* route_import.c */
ROUTE_HANDLER(route_import_begin);
ROUTE_HANDLER(route_import_add);
ROUTE_HANDLER(route_import_finish);
ROUTE_HANDLER(route_import_drop);
/* route_air.c */
ROUTE_HANDLER(route_air);
/* route_piece.c */
ROUTE_HANDLER(route_pieces_list);
ROUTE_HANDLER(route_piece_add);
ROUTE_HANDLER(route_piece_get);
ROUTE_HANDLER(route_piece_change);
ROUTE_HANDLER(route_piece_remove);
ROUTE_HANDLER(route_moves_list);
ROUTE_HANDLER(route_piece_move);
ROUTE_HANDLER(route_piece_strip);

/* route_record.c */
ROUTE_HANDLER(route_record);
ROUTE_HANDLER(route_piece_code);

/* route_photo.c */
ROUTE_HANDLER(route_notes_list);
ROUTE_HANDLER(route_note_add);
ROUTE_HANDLER(route_photos_list);
ROUTE_HANDLER(route_photo_add);
ROUTE_HANDLER(route_photo_get);
ROUTE_HANDLER(route_photo_remove);
/* route_rack.c */
ROUTE_HANDLER(route_racks_list);
ROUTE_HANDLER(route_rack_add);
ROUTE_HANDLER(route_rack_get);
ROUTE_HANDLER(route_rack_change);
ROUTE_HANDLER(route_rack_remove);
/* route_material.c */
ROUTE_HANDLER(route_materials_list);
ROUTE_HANDLER(route_material_add);
ROUTE_HANDLER(route_material_get);
ROUTE_HANDLER(route_material_replace);
ROUTE_HANDLER(route_material_remove);
ROUTE_HANDLER(route_material_versions);
ROUTE_HANDLER(route_material_lead);
/* route_coat.c */
ROUTE_HANDLER(route_coats_list);
ROUTE_HANDLER(route_coats_log);
ROUTE_HANDLER(route_coat_get);
ROUTE_HANDLER(route_coat_amend);
ROUTE_HANDLER(route_coat_entries);
ROUTE_HANDLER(route_coat_why);
ROUTE_HANDLER(route_coat_strike);
ROUTE_HANDLER(route_coat_sand);
ROUTE_HANDLER(route_tests_list);
ROUTE_HANDLER(route_coat_test);
/* route_tin.c */
ROUTE_HANDLER(route_tins_list);
ROUTE_HANDLER(route_tin_add);
ROUTE_HANDLER(route_tin_get);
ROUTE_HANDLER(route_tin_change);
ROUTE_HANDLER(route_tin_remove);
/* route_vapour.c */
ROUTE_HANDLER(route_vapour);
ROUTE_HANDLER(route_vapour_release);
ROUTE_HANDLER(route_solvents_list);

ROUTE_HANDLER(route_bakes_list);
ROUTE_HANDLER(route_bake_get);
ROUTE_HANDLER(route_bake_add);
ROUTE_HANDLER(route_bake_answer);
ROUTE_HANDLER(route_bake_start);
ROUTE_HANDLER(route_bake_stop);
ROUTE_HANDLER(route_bake_resume);

/* route_mix.c */
ROUTE_HANDLER(route_mixes_list);
ROUTE_HANDLER(route_mix);
/* route_sensor.c */
ROUTE_HANDLER(route_sensors_list);
ROUTE_HANDLER(route_sensor_add);
ROUTE_HANDLER(route_sensor_get);
ROUTE_HANDLER(route_sensor_change);
ROUTE_HANDLER(route_sensor_remove);
ROUTE_HANDLER(route_adjustments_list);
ROUTE_HANDLER(route_sensor_adjust);
ROUTE_HANDLER(route_suspects_list);
/* route_sensor_test.c */
ROUTE_HANDLER(route_sensor_test_begin);
ROUTE_HANDLER(route_sensor_test_get);
/* route_push.c */
ROUTE_HANDLER(route_push);
/* route_check.c */
ROUTE_HANDLER(route_check);
/* route_channel.c, route_channel_test.c */
ROUTE_HANDLER(route_channels_list);
ROUTE_HANDLER(route_channel_get);
ROUTE_HANDLER(route_channel_add);
ROUTE_HANDLER(route_channel_change);
ROUTE_HANDLER(route_channel_remove);
ROUTE_HANDLER(route_channel_test_begin);
ROUTE_HANDLER(route_channel_test_get);
/* route_calendar.c, route_ack.c */
ROUTE_HANDLER(route_calendar);
ROUTE_HANDLER(route_ack_page);
ROUTE_HANDLER(route_ack_form);
/* route_notice.c, route_caution.c, route_clock.c, route_openapi.c, route_plain.c, metrics.c */
ROUTE_HANDLER(route_notices_list);
ROUTE_HANDLER(route_notice_get);
ROUTE_HANDLER(route_notice_ack);
ROUTE_HANDLER(route_cautions_list);
ROUTE_HANDLER(route_clock_get);
ROUTE_HANDLER(route_clock_move);
ROUTE_HANDLER(route_openapi);
ROUTE_HANDLER(route_plain);
ROUTE_HANDLER(route_metrics);

#endif
