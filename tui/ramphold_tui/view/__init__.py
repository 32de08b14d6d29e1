"""What the screen says and draws, and which keys are live: no widget, no I/O, no clock.

- bench: `bench_state`, what the daemon told
- press: `press_pane`, `press_banner`, `press_situation`, `press_alarms`, `press_meters`,
  `run_start`
- situations: `situation`, `situation_row`, `situation_table` and its parts `situations_of_trust`,
  `situations_without_run`, `situations_in_run`
- traces: `load_plot`, `load_history`, `past_run`
- worksheet: `worksheet_parts`, `part_findings`, `step_words`, `decisions`, `corrections`
- balance: `balance_pane`
- results: `results_table`, `fines_chart`
- instruments: `instrument_table`
- timers: `sieve_timers`
- forms: `forms`, `sample_form`, `form_fields`
- keys: `keys`, `key_line`
- drawing: `elements`, `formats`, `glyphs`, `curve_plot`
"""
