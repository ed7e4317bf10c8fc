-- One upper side goes back one tooth at a time: first the second molar, then the first. Half way the plate is changed;
-- its two screws stay.

insert into holdfast.patients (id, chart_number, given_name, family_name, birth_date, sex, cigarettes_per_day, note) values
    ('019c0000-0002-7000-8000-000000000010', 'DEMO-002', 'Invented', 'Patient Two', '2001-10-08', 'male', 0, 'Invented for the demo.')
on conflict do nothing;

insert into holdfast.cases (id, patient_id, title, clinician, opened_on, arches, segments, goals, stages, note) values
    ('019c0000-0002-7000-8000-000000000020', '019c0000-0002-7000-8000-000000000010',
    'Upper right molars moved back one by one', 'Invented Clinician', '2026-01-05',
    '{"maxilla": {"width_mm": 58, "depth_mm": 47, "vault_height_mm": 17}}',
    '[
        {"name": "upper right second molar", "teeth": ["17"], "joined": "rigid"},
        {"name": "upper right first molar", "teeth": ["16"], "joined": "rigid"}
    ]',
    '[
        {"segment": "upper right second molar", "mesial_mm": -3},
        {"segment": "upper right first molar", "mesial_mm": -3}
    ]',
    '[
        {"name": "second molar back", "planned_from": "2026-01-26", "planned_to": "2026-06-01"},
        {"name": "first molar back", "planned_from": "2026-06-01", "planned_to": "2026-10-05"},
        {"name": "premolars and front follow", "planned_from": "2026-10-05"}
    ]',
    'Third molar missing. The forces act from hooks on palatal and buccal arms of the bands, near the height of the roots'' middle.')
on conflict do nothing;

insert into holdfast.screws (id, patient_id, case_id, name, site, screw_model_id, lot, expires_on, udi, entry, axis, tissue_mm,
    stand_off_mm, mucosa, predrilled, placed_on, placed_by_count, insertion_torque_ncm)
select id::uuid, '019c0000-0002-7000-8000-000000000010', '019c0000-0002-7000-8000-000000000020', name, 'palate-paramedian',
    '019c0000-0000-7000-8000-000000000061', 'DEMO-LOT-1', '2029-01-31', '01000000000000001729013110DEMO-LOT-1', entry::jsonb,
    '"perpendicular"', 1.5, 1.0, 'attached', false, '2026-01-12', 130, torque_ncm
from (values
    ('019c0000-0002-7000-8000-000000000031', 'right', '{"palate": {"right_mm": 4.4, "behind_incisors_mm": 25}}', 20),
    ('019c0000-0002-7000-8000-000000000032', 'left', '{"palate": {"right_mm": -4.4, "behind_incisors_mm": 25}}', 18)
) as s (id, name, entry, torque_ncm)
on conflict do nothing;

insert into holdfast.setups (id, case_id, name, purpose) values
    ('019c0000-0002-7000-8000-000000000041', '019c0000-0002-7000-8000-000000000020', 'palatal plate', 'upper right molars back')
on conflict do nothing;

-- Two versions on the same two seats. The first ends in a hook right behind the second molar, a little too near the mucosa.
with seats (nodes, bars, seats) as (values (
    '[
        {"name": "right seat", "at_mm": {"palate": {"right_mm": 4.4, "behind_incisors_mm": 25, "clear_mm": 2.5}}, "tissue_gap_mm": 1.0},
        {"name": "left seat", "at_mm": {"palate": {"right_mm": -4.4, "behind_incisors_mm": 25, "clear_mm": 2.5}}, "tissue_gap_mm": 1.0}
    ]'::jsonb,
    '[{"from": "right seat", "to": "left seat", "section": {"rectangle_mm": [3.0, 1.2]}}]'::jsonb,
    '[{"node": "right seat", "screw": "right"}, {"node": "left seat", "screw": "left"}]'::jsonb
)), versions (version, worn_from, nodes, bars, fittings) as (values
    (1, '2026-01-26'::date,
    '[
        {"name": "arm", "at_mm": {"palate": {"right_mm": 12, "behind_incisors_mm": 38, "clear_mm": 3}}, "tissue_gap_mm": 1.5},
        {"name": "rear corner", "at_mm": {"near": "17", "mesial_mm": -9, "buccal_mm": -8, "occlusal_mm": -6}, "tissue_gap_mm": 1.2},
        {"name": "rear hook", "at_mm": {"near": "17", "mesial_mm": -11, "buccal_mm": 0, "occlusal_mm": -5}, "tissue_gap_mm": 0.8}
    ]'::jsonb,
    '[
        {"from": "right seat", "to": "arm", "section": {"round_mm": 1.5}},
        {"from": "arm", "to": "rear corner", "section": {"round_mm": 1.5}},
        {"from": "rear corner", "to": "rear hook", "section": {"round_mm": 1.5}}
    ]'::jsonb,
    '[{"node": "rear hook", "kind": "hook"}]'::jsonb),
    (2, '2026-06-01',
    '[
        {"name": "arm", "at_mm": {"palate": {"right_mm": 12, "behind_incisors_mm": 36, "clear_mm": 3}}, "tissue_gap_mm": 1.5},
        {"name": "palatal hook", "at_mm": {"near": "17", "mesial_mm": -4, "buccal_mm": -10, "occlusal_mm": -5}, "tissue_gap_mm": 1.5},
        {"name": "rear corner", "at_mm": {"near": "17", "mesial_mm": -12, "buccal_mm": -7, "occlusal_mm": -4}, "tissue_gap_mm": 1.5},
        {"name": "buccal hook", "at_mm": {"near": "17", "mesial_mm": -10, "buccal_mm": 8, "occlusal_mm": -5}, "tissue_gap_mm": 1.5}
    ]',
    '[
        {"from": "right seat", "to": "arm", "section": {"round_mm": 1.5}},
        {"from": "arm", "to": "palatal hook", "section": {"round_mm": 1.5}},
        {"from": "palatal hook", "to": "rear corner", "section": {"round_mm": 1.5}},
        {"from": "rear corner", "to": "buccal hook", "section": {"round_mm": 1.5}}
    ]',
    '[{"node": "palatal hook", "kind": "hook"}, {"node": "buccal hook", "kind": "hook"}]')
)
insert into holdfast.setup_versions (setup_id, worn_from, material, nodes, bars, seats, fittings)
select s.id, v.worn_from, '"titanium-grade-4"', common.nodes || v.nodes, common.bars || v.bars, common.seats, v.fittings
from holdfast.setups s, seats common, versions v
where s.id = '019c0000-0002-7000-8000-000000000041'
    and not exists (select from holdfast.setup_versions o where o.setup_id = s.id)
order by v.version;

-- Superelastic coils, one on each side of the tooth so that it does not turn; `gf` on each.
with coils as (
    select * from jsonb_to_recordset('[
        {"tooth": "17", "place": 1, "element": {"name": "palatal coil to 17", "kind": "closed-coil", "from": {"fitting": "rear hook"},
            "to": {"tooth": "17", "at": "palatal-attachment", "offset_mm": [0, 0, 6]}}},
        {"tooth": "17", "place": 2, "element": {"name": "buccal coil to 17", "kind": "closed-coil", "from": {"fitting": "rear hook"},
            "to": {"tooth": "17", "at": "buccal-tube", "offset_mm": [0, 0, 6]}}},
        {"tooth": "16", "place": 1, "element": {"name": "palatal coil to 16", "kind": "closed-coil", "from": {"fitting": "palatal hook"},
            "to": {"tooth": "16", "at": "palatal-attachment", "offset_mm": [0, 0, 6]}}},
        {"tooth": "16", "place": 2, "element": {"name": "buccal coil to 16", "kind": "closed-coil", "from": {"fitting": "buccal hook"},
            "to": {"tooth": "16", "at": "buccal-tube", "offset_mm": [0, 0, 6]}}}
    ]') as c (tooth text, place integer, element jsonb)
)
insert into holdfast.visits (id, case_id, visited_on, worn, elements, screw_checks, measures, actions, next_interval_days, note)
select id::uuid, '019c0000-0002-7000-8000-000000000020', day::date, '[{"setup_id": "019c0000-0002-7000-8000-000000000041"}]',
    (select jsonb_agg(element || jsonb_build_object('activated_on', day, 'force_n', jsonb_build_object('value', gf, 'unit', 'gf'))
        order by place) from coils where coils.tooth = v.tooth),
    '[{"screw": "right", "mobility_grade": 0, "inflammation_grade": 0}, {"screw": "left", "mobility_grade": 0, "inflammation_grade": 0}]',
    measures::jsonb, actions::jsonb, 42, note
from (values
    ('019c0000-0002-7000-8000-000000000051', '2026-01-26', '17', 70, '{"overjet_mm": 4.5, "overbite_mm": 3.0}',
        '[{"action": "placed", "of": "palatal plate"}, {"action": "activated", "note": "both coils to 17"}]', null),
    ('019c0000-0002-7000-8000-000000000052', '2026-03-09', '17', 70,
        '{"overjet_mm": 4.5, "segments": [{"segment": "upper right second molar", "mesial_mm": -0.7, "tip_deg": -1}]}',
        '[{"action": "reactivated", "note": "both coils to 17"},
          {"action": "instructed", "note": "brush behind the second molar"}]',
        'Mucosa reddened under the rear hook: it stands too near.'),
    ('019c0000-0002-7000-8000-000000000053', '2026-04-20', '17', 70,
        '{"overjet_mm": 4.5, "forces": [{"element": "palatal coil to 17", "force_n": 0.58}],
          "segments": [{"segment": "upper right second molar", "mesial_mm": -1.8, "tip_deg": -3}]}',
        '[{"action": "reactivated", "note": "both coils to 17"}]', null),
    ('019c0000-0002-7000-8000-000000000054', '2026-06-01', '16', 60,
        '{"overjet_mm": 4.5, "segments": [{"segment": "upper right second molar", "mesial_mm": -3.0, "tip_deg": -4}]}',
        '[{"action": "exchanged", "of": "palatal plate", "note": "same screws, hooks on both sides"},
          {"action": "activated", "note": "both coils to 16"}]',
        'Second molar in place; a stop on the archwire holds it.'),
    ('019c0000-0002-7000-8000-000000000055', '2026-07-13', '16', 60,
        '{"overjet_mm": 4.4, "segments": [{"segment": "upper right second molar", "mesial_mm": -2.9, "tip_deg": -3},
          {"segment": "upper right first molar", "mesial_mm": -0.6, "tip_deg": -1}]}',
        '[{"action": "reactivated", "note": "both coils to 16"}]', null),
    ('019c0000-0002-7000-8000-000000000056', '2026-08-24', '16', 60,
        '{"overjet_mm": 4.2, "segments": [{"segment": "upper right second molar", "mesial_mm": -2.9, "tip_deg": -3},
          {"segment": "upper right first molar", "mesial_mm": -1.5, "tip_deg": -2}]}',
        '[{"action": "reactivated", "note": "both coils to 16"}]', null),
    ('019c0000-0002-7000-8000-000000000057', '2026-10-05', '16', 60,
        '{"overjet_mm": 4.0, "segments": [{"segment": "upper right second molar", "mesial_mm": -2.9, "tip_deg": -3},
          {"segment": "upper right first molar", "mesial_mm": -2.4, "tip_deg": -3}]}',
        '[{"action": "reactivated", "note": "both coils to 16"}]', null)
) as v (id, day, tooth, gf, measures, actions, note)
on conflict do nothing;
