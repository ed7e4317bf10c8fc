-- A growing patient whose upper jaw stands back: first a face mask on an upper plate, then elastics between an upper and a
-- lower plate, both sides.

insert into holdfast.patients (id, chart_number, given_name, family_name, birth_date, sex, cigarettes_per_day, note) values
    ('019c0000-0004-7000-8000-000000000010', 'DEMO-004', 'Invented', 'Patient Four', '2014-07-17', 'female', 0, 'Invented for the demo.')
on conflict do nothing;

insert into holdfast.cases (id, patient_id, title, clinician, opened_on, arches, stages, note) values
    ('019c0000-0004-7000-8000-000000000020', '019c0000-0004-7000-8000-000000000010',
    'Upper jaw brought forward: face mask, then elastics between two plates', 'Invented Clinician', '2026-01-05',
    '{"maxilla": {"width_mm": 55, "depth_mm": 44, "vault_height_mm": 14}}',
    '[
        {"name": "face mask on the upper plate", "planned_from": "2026-02-02", "planned_to": "2026-06-22"},
        {"name": "elastics between the plates", "planned_from": "2026-06-22", "planned_to": "2027-03-01"}
    ]',
    'Second molars not erupted: the arms of the upper plate run round the first molars to buccal hooks.')
on conflict do nothing;

insert into holdfast.screws (id, patient_id, case_id, name, site, screw_model_id, lot, expires_on, udi, entry, axis, tissue_mm,
    stand_off_mm, mucosa, predrilled, placed_on, placed_by_count, insertion_torque_ncm)
select id::uuid, '019c0000-0004-7000-8000-000000000010', '019c0000-0004-7000-8000-000000000020', name, site, model::uuid,
    'DEMO-LOT-3', '2028-11-30', '01000000000000001728113010DEMO-LOT-3', entry::jsonb, '"perpendicular"', tissue_mm, stand_off_mm,
    mucosa, false, placed_on::date, 140, torque_ncm
from (values
    ('019c0000-0004-7000-8000-000000000031', 'upper right', 'palate-paramedian', '019c0000-0000-7000-8000-000000000062',
        '{"palate": {"right_mm": 4.4, "behind_incisors_mm": 22}}', 1.5, 1.0, 'attached', '2026-01-12', 21),
    ('019c0000-0004-7000-8000-000000000032', 'upper left', 'palate-paramedian', '019c0000-0000-7000-8000-000000000062',
        '{"palate": {"right_mm": -4.4, "behind_incisors_mm": 22}}', 1.5, 1.0, 'attached', '2026-01-12', 22),
    ('019c0000-0004-7000-8000-000000000033', 'lower right', 'symphysis', '019c0000-0000-7000-8000-000000000061',
        '{"vestibule": {"between": ["41", "42"], "apical_mm": 13}}', 1.0, 1.0, 'movable', '2026-06-01', 17),
    ('019c0000-0004-7000-8000-000000000034', 'lower left', 'symphysis', '019c0000-0000-7000-8000-000000000061',
        '{"vestibule": {"between": ["31", "32"], "apical_mm": 13}}', 1.0, 1.0, 'movable', '2026-06-01', 16)
) as s (id, name, site, model, entry, tissue_mm, stand_off_mm, mucosa, placed_on, torque_ncm)
on conflict do nothing;

insert into holdfast.setups (id, case_id, name, purpose) values
    ('019c0000-0004-7000-8000-000000000041', '019c0000-0004-7000-8000-000000000020', 'upper plate', 'upper jaw forward'),
    ('019c0000-0004-7000-8000-000000000042', '019c0000-0004-7000-8000-000000000020', 'lower plate', 'holds the elastics')
on conflict do nothing;
insert into holdfast.setup_versions (setup_id, worn_from, material, nodes, bars, seats, fittings)
select s.id, '2026-01-26', '"titanium-6al-4v"',
    '[
        {"name": "upper right seat", "at_mm": {"palate": {"right_mm": 4.4, "behind_incisors_mm": 22, "clear_mm": 2.5}}, "tissue_gap_mm": 1.0},
        {"name": "upper left seat", "at_mm": {"palate": {"right_mm": -4.4, "behind_incisors_mm": 22, "clear_mm": 2.5}}, "tissue_gap_mm": 1.0},
        {"name": "right arm", "at_mm": {"palate": {"right_mm": 12, "behind_incisors_mm": 36, "clear_mm": 3}}, "tissue_gap_mm": 1.5},
        {"name": "right corner", "at_mm": {"near": "16", "mesial_mm": -8, "buccal_mm": -5, "occlusal_mm": -4}, "tissue_gap_mm": 1.5},
        {"name": "right upper hook", "at_mm": {"near": "16", "mesial_mm": -4, "buccal_mm": 9, "occlusal_mm": -4}, "tissue_gap_mm": 1.5},
        {"name": "left arm", "at_mm": {"palate": {"right_mm": -12, "behind_incisors_mm": 36, "clear_mm": 3}}, "tissue_gap_mm": 1.5},
        {"name": "left corner", "at_mm": {"near": "26", "mesial_mm": -8, "buccal_mm": -5, "occlusal_mm": -4}, "tissue_gap_mm": 1.5},
        {"name": "left upper hook", "at_mm": {"near": "26", "mesial_mm": -4, "buccal_mm": 9, "occlusal_mm": -4}, "tissue_gap_mm": 1.5}
    ]',
    '[
        {"from": "upper right seat", "to": "upper left seat", "section": {"rectangle_mm": [5.0, 2.0]}},
        {"from": "upper right seat", "to": "right arm", "section": {"round_mm": 2.0}},
        {"from": "right arm", "to": "right corner", "section": {"round_mm": 2.0}},
        {"from": "right corner", "to": "right upper hook", "section": {"round_mm": 2.0}},
        {"from": "upper left seat", "to": "left arm", "section": {"round_mm": 2.0}},
        {"from": "left arm", "to": "left corner", "section": {"round_mm": 2.0}},
        {"from": "left corner", "to": "left upper hook", "section": {"round_mm": 2.0}}
    ]',
    '[{"node": "upper right seat", "screw": "upper right"}, {"node": "upper left seat", "screw": "upper left"}]',
    '[{"node": "right upper hook", "kind": "hook"}, {"node": "left upper hook", "kind": "hook"}]'
from holdfast.setups s
where s.id = '019c0000-0004-7000-8000-000000000041'
    and not exists (select from holdfast.setup_versions v where v.setup_id = s.id);
insert into holdfast.setup_versions (setup_id, worn_from, material, nodes, bars, seats, fittings)
select s.id, '2026-06-22', '"titanium-grade-4"',
    '[
        {"name": "lower right seat", "at_mm": {"vestibule": {"between": ["41", "42"], "apical_mm": 13, "clear_mm": 2}}, "tissue_gap_mm": 1.0},
        {"name": "lower left seat", "at_mm": {"vestibule": {"between": ["31", "32"], "apical_mm": 13, "clear_mm": 2}}, "tissue_gap_mm": 1.0},
        {"name": "right lower hook", "at_mm": {"near": "43", "mesial_mm": -3, "buccal_mm": 7, "occlusal_mm": -9}, "tissue_gap_mm": 1.5},
        {"name": "left lower hook", "at_mm": {"near": "33", "mesial_mm": -3, "buccal_mm": 7, "occlusal_mm": -9}, "tissue_gap_mm": 1.5}
    ]',
    '[
        {"from": "lower right seat", "to": "lower left seat", "section": {"rectangle_mm": [5.0, 2.0]}},
        {"from": "lower right seat", "to": "right lower hook", "section": {"round_mm": 2.0}},
        {"from": "lower left seat", "to": "left lower hook", "section": {"round_mm": 2.0}}
    ]',
    '[{"node": "lower right seat", "screw": "lower right"}, {"node": "lower left seat", "screw": "lower left"}]',
    '[{"node": "right lower hook", "kind": "hook"}, {"node": "left lower hook", "kind": "hook"}]'
from holdfast.setups s
where s.id = '019c0000-0004-7000-8000-000000000042'
    and not exists (select from holdfast.setup_versions v where v.setup_id = s.id);

-- New rubber every day; `gf` on each side.
with rubber as (
    select * from jsonb_to_recordset('[
        {"phase": "mask", "place": 1, "element": {"name": "face mask, right", "kind": "extraoral-elastic", "from": {"fitting": "right upper hook"},
            "to": {"fixed_mm": [-22, -60, -40], "label": "bar of the face mask"}, "renewed_daily": true, "hours_per_day": 13}},
        {"phase": "mask", "place": 2, "element": {"name": "face mask, left", "kind": "extraoral-elastic", "from": {"fitting": "left upper hook"},
            "to": {"fixed_mm": [22, -60, -40], "label": "bar of the face mask"}, "renewed_daily": true, "hours_per_day": 13}},
        {"phase": "elastics", "place": 1, "element": {"name": "right elastic", "kind": "elastic", "from": {"fitting": "right upper hook"},
            "to": {"fitting": "right lower hook"}, "renewed_daily": true, "hours_per_day": 22}},
        {"phase": "elastics", "place": 2, "element": {"name": "left elastic", "kind": "elastic", "from": {"fitting": "left upper hook"},
            "to": {"fitting": "left lower hook"}, "renewed_daily": true, "hours_per_day": 22}}
    ]') as r (phase text, place integer, element jsonb)
), worn (phase, setups, screws) as (values
    ('mask', '[{"setup_id": "019c0000-0004-7000-8000-000000000041"}]'::jsonb, '{"upper right", "upper left"}'::text[]),
    ('elastics', '[{"setup_id": "019c0000-0004-7000-8000-000000000041"}, {"setup_id": "019c0000-0004-7000-8000-000000000042"}]',
        '{"upper right", "upper left", "lower right", "lower left"}')
)
insert into holdfast.visits (id, case_id, visited_on, worn, elements, screw_checks, measures, actions, next_interval_days, note)
select id::uuid, '019c0000-0004-7000-8000-000000000020', day::date, w.setups,
    (select jsonb_agg(element || jsonb_build_object('activated_on', day, 'force_n', jsonb_build_object('value', gf, 'unit', 'gf'))
        order by place) from rubber where rubber.phase = v.phase),
    (select jsonb_agg(jsonb_build_object('screw', name, 'mobility_grade', 0, 'inflammation_grade', 0)) from unnest(w.screws) as name),
    measures::jsonb, actions::jsonb, next_days, note
from (values
    ('019c0000-0004-7000-8000-000000000051', '2026-02-02', 'mask', 150, '{"overjet_mm": -2.5, "overbite_mm": 1.5}',
        '[{"action": "placed", "of": "upper plate"},
          {"action": "instructed", "note": "face mask 13 hours a day, light rubber for the first weeks"}]', 42, null),
    ('019c0000-0004-7000-8000-000000000052', '2026-03-16', 'mask', 250, '{"overjet_mm": -2.0, "overbite_mm": 1.5}',
        '[{"action": "adjusted", "note": "full force"}]', 42, null),
    ('019c0000-0004-7000-8000-000000000053', '2026-04-27', 'mask', 250, '{"overjet_mm": -1.0, "overbite_mm": 1.4}',
        '[{"action": "instructed", "note": "rubber new every day"}]', 35, null),
    ('019c0000-0004-7000-8000-000000000054', '2026-06-01', 'mask', 250, '{"overjet_mm": -0.2, "overbite_mm": 1.3}',
        '[{"action": "placed", "of": "lower right"}, {"action": "placed", "of": "lower left"}]', 21, 'Lower screws rest for three weeks.'),
    ('019c0000-0004-7000-8000-000000000055', '2026-06-22', 'elastics', 100, '{"overjet_mm": 0.2, "overbite_mm": 1.3}',
        '[{"action": "placed", "of": "lower plate"}, {"action": "removed", "note": "face mask"},
          {"action": "activated", "note": "elastics day and night"}]', 42, null),
    ('019c0000-0004-7000-8000-000000000056', '2026-08-03', 'elastics', 150, '{"overjet_mm": 0.8, "overbite_mm": 1.2}',
        '[{"action": "adjusted", "note": "stronger elastics"}]', 42, null),
    ('019c0000-0004-7000-8000-000000000057', '2026-09-14', 'elastics', 150, '{"overjet_mm": 1.5, "overbite_mm": 1.2}',
        '[{"action": "instructed", "note": "day and night, off for meals only"}]', 42, null)
) as v (id, day, phase, gf, measures, actions, next_days, note)
join worn w using (phase)
on conflict do nothing;
