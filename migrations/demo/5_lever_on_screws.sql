-- The same lever in the same tube, first on one screw and then on two: a moment about the lone screw's axis becomes opposite
-- lateral forces on the pair. What the lever gives is told as known loads on its two ends.

insert into holdfast.patients (id, chart_number, given_name, family_name, birth_date, sex, cigarettes_per_day, note) values
    ('019c0000-0005-7000-8000-000000000010', 'DEMO-005', 'Invented', 'Patient Five', '2006-09-05', 'female', 0, 'Invented for the demo.')
on conflict do nothing;

insert into holdfast.cases (id, patient_id, title, clinician, opened_on, arches, segments, goals, note) values
    ('019c0000-0005-7000-8000-000000000020', '019c0000-0005-7000-8000-000000000010',
    'Crossbite of the upper right second molar: lever from a palatal plate', 'Invented Clinician', '2026-02-09',
    '{"maxilla": {"width_mm": 57, "depth_mm": 46, "vault_height_mm": 16}}',
    '[{"name": "upper right second molar", "teeth": ["17"], "joined": "rigid"}]',
    '[{"segment": "upper right second molar", "buccal_mm": 2}]',
    'The left screw did not hold at the first appointment; until a new one was in, the plate sat on the right screw alone.')
on conflict do nothing;

insert into holdfast.screws (id, patient_id, case_id, name, site, screw_model_id, lot, expires_on, udi, entry, axis, tissue_mm,
    stand_off_mm, mucosa, predrilled, placed_on, placed_by_count, insertion_torque_ncm)
select id::uuid, '019c0000-0005-7000-8000-000000000010', '019c0000-0005-7000-8000-000000000020', name, 'palate-paramedian',
    '019c0000-0000-7000-8000-000000000061', 'DEMO-LOT-1', '2029-01-31', '01000000000000001729013110DEMO-LOT-1', entry::jsonb,
    '"perpendicular"', 1.5, 1.0, 'attached', false, placed_on::date, 18, torque_ncm
from (values
    ('019c0000-0005-7000-8000-000000000031', 'right', '{"palate": {"right_mm": 4.4, "behind_incisors_mm": 25}}', '2026-02-16', 19),
    ('019c0000-0005-7000-8000-000000000032', 'left', '{"palate": {"right_mm": -4.4, "behind_incisors_mm": 25}}', '2026-04-06', 18)
) as s (id, name, entry, placed_on, torque_ncm)
on conflict do nothing;

insert into holdfast.setups (id, case_id, name, purpose) values
    ('019c0000-0005-7000-8000-000000000041', '019c0000-0005-7000-8000-000000000020', 'palatal plate', 'carries the tube of a lever')
on conflict do nothing;
insert into holdfast.setup_versions (setup_id, worn_from, material, nodes, bars, seats, fittings)
select s.id, '2026-03-09', '"titanium-grade-4"',
    '[
        {"name": "right seat", "at_mm": {"palate": {"right_mm": 4.4, "behind_incisors_mm": 25, "clear_mm": 2.5}}, "tissue_gap_mm": 1.0},
        {"name": "tube", "at_mm": {"palate": {"right_mm": 10, "behind_incisors_mm": 32, "clear_mm": 3}}, "tissue_gap_mm": 1.5}
    ]',
    '[{"from": "right seat", "to": "tube", "section": {"rectangle_mm": [2.5, 1.2]}}]',
    '[{"node": "right seat", "screw": "right"}]',
    '[{"node": "tube", "kind": "tube", "axis": [0, 1, 0], "slot_in": [0.022, 0.028]}]'
from holdfast.setups s
where s.id = '019c0000-0005-7000-8000-000000000041'
    and not exists (select from holdfast.setup_versions v where v.setup_id = s.id);
insert into holdfast.setup_versions (setup_id, worn_from, pattern_id, material, nodes, bars, seats, fittings)
select s.id, '2026-04-20', p.id, p.material, p.nodes, p.bars, p.seats, p.fittings
from holdfast.setups s, holdfast.plate_patterns p
where s.id = '019c0000-0005-7000-8000-000000000041' and p.id = '019c0000-0000-7000-8000-000000000072'
    and not exists (select from holdfast.setup_versions v where v.setup_id = s.id and v.version > 1);

-- 0.4 N to buccal on the molar; its reaction in the tube, with the moment of the 15 mm between the two.
insert into holdfast.visits (id, case_id, visited_on, worn, elements, screw_checks, measures, actions, next_interval_days, note)
select id::uuid, '019c0000-0005-7000-8000-000000000020', day::date, '[{"setup_id": "019c0000-0005-7000-8000-000000000041"}]',
    '[
        {"name": "lever on 17", "kind": "applied", "to": {"tooth": "17", "at": "palatal-attachment"}, "force_n": [-0.4, 0, 0]},
        {"name": "lever in the tube", "kind": "applied", "to": {"fitting": "tube"}, "force_n": [0.4, 0, 0], "moment_nmm": [0, -2.8, -4.6]}
    ]',
    screw_checks::jsonb, measures::jsonb, actions::jsonb, 42, note
from (values
    ('019c0000-0005-7000-8000-000000000051', '2026-03-09',
        '[{"screw": "right", "mobility_grade": 0, "inflammation_grade": 0}]', '{"overjet_mm": 2.5, "overbite_mm": 2.0}',
        '[{"action": "placed", "of": "palatal plate", "note": "on the right screw alone"},
          {"action": "activated", "of": "lever in the tube"}]', null),
    ('019c0000-0005-7000-8000-000000000052', '2026-04-20',
        '[{"screw": "right", "mobility_grade": 0, "inflammation_grade": 0}, {"screw": "left", "mobility_grade": 0, "inflammation_grade": 0}]',
        '{"segments": [{"segment": "upper right second molar", "buccal_mm": 0.5, "torque_deg": 2}]}',
        '[{"action": "exchanged", "of": "palatal plate", "note": "on both screws"},
          {"action": "reactivated", "of": "lever in the tube"}]', null),
    ('019c0000-0005-7000-8000-000000000053', '2026-06-01',
        '[{"screw": "right", "mobility_grade": 0, "inflammation_grade": 0}, {"screw": "left", "mobility_grade": 0, "inflammation_grade": 0}]',
        '{"segments": [{"segment": "upper right second molar", "buccal_mm": 1.3, "torque_deg": 5}]}',
        '[{"action": "reactivated", "of": "lever in the tube"}]', 'Cusps nearly over the bite.')
) as v (id, day, screw_checks, measures, actions, note)
on conflict do nothing;
