/* The handlers behind the command table, and what finishes those that had to wait. */
#ifndef HOLDFAST_HANDLERS_H
#define HOLDFAST_HANDLERS_H

#include "command.h"
#include "stepped.h"

int16_t status_identify(struct request *request);
int16_t status_reset(struct request *request);
int16_t status_clear_command(struct request *request);
int16_t status_events_query(struct request *request);
int16_t status_event_enable(struct request *request);
int16_t status_event_enable_query(struct request *request);
int16_t status_byte_query(struct request *request);
int16_t status_service_request(struct request *request);
int16_t status_service_request_query(struct request *request);
int16_t status_complete(struct request *request);
int16_t status_complete_query(struct request *request);
int16_t status_wait(struct request *request);
int16_t status_self_test_query(struct request *request);

int16_t system_error_query(struct request *request);
int16_t system_error_count_query(struct request *request);
int16_t system_version_query(struct request *request);
int16_t system_boot_query(struct request *request);
int16_t system_capability_query(struct request *request);
int16_t system_capability_list_query(struct request *request);
int16_t system_wiring_query(struct request *request);
int16_t system_link_query(struct request *request);
int16_t system_deadman(struct request *request);
int16_t system_deadman_query(struct request *request);
int16_t system_fall(struct request *request);
int16_t system_fall_query(struct request *request);
int16_t system_feed(struct request *request);
int16_t system_off_query(struct request *request);

int16_t route_close(struct request *request);
int16_t route_close_query(struct request *request);
int16_t route_open(struct request *request);
int16_t route_set(struct request *request);
int16_t route_pulse(struct request *request);
int16_t route_stagger(struct request *request);
int16_t route_open_all(struct request *request);

int16_t measure_code_query(struct request *request);
int16_t measure_spread_query(struct request *request);
int16_t measure_once_query(struct request *request);
int16_t measure_step_query(struct request *request);
int16_t measure_train(struct request *request);
int16_t measure_train_stop(struct request *request);
int16_t measure_burst(struct request *request);
int16_t measure_rail_query(struct request *request);
int16_t measure_trail_query(struct request *request);

int16_t block_clear_command(struct request *request);
int16_t block_step_command(struct request *request);
int16_t block_channels_command(struct request *request);
int16_t block_run_command(struct request *request);
int16_t block_stop_command(struct request *request);
int16_t block_state_query(struct request *request);

int16_t memory_data(struct request *request);
int16_t memory_data_query(struct request *request);
int16_t memory_keep(struct request *request);
int16_t memory_erase(struct request *request);
int16_t memory_state_query(struct request *request);
int16_t system_count_query(struct request *request);
int16_t system_stack_query(struct request *request);

int16_t trip_limit_command(struct request *request);
int16_t trip_limit_query(struct request *request);
int16_t trip_arm_command(struct request *request);
int16_t trip_arm_query(struct request *request);
int16_t trip_state_query(struct request *request);
int16_t trip_clear_command(struct request *request);

/* Mask and states of lines 4..8, and with a settle: parameters of several commands. */
int16_t take_step(struct request *request, struct step *step);
int16_t take_lines(struct request *request, uint8_t *mask, uint8_t *states);

/* Finish a pending handler: true when it is done, its answer then written. */
bool measure_code_finish(struct text *answer);
bool measure_once_finish(struct text *answer);
bool measure_step_finish(struct text *answer);
bool measure_burst_finish(struct text *answer);
bool measure_train_stop_finish(struct text *answer);
bool memory_write_finish(struct text *answer);
bool block_stop_finish(struct text *answer);
bool status_wait_finish(struct text *answer);

#endif
