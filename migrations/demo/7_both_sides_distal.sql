-- Molars of both upper sides go back together from one palatal plate.

insert into holdfast.patients (id, chart_number, given_name, family_name, birth_date, sex, cigarettes_per_day, note) values
    ('019c0000-0007-7000-8000-000000000010', 'DEMO-007', 'Invented', 'Patient Seven', '1996-06-23', 'male', 0, 'Invented for the demo.')
on conflict do nothing;

insert into holdfast.cases (id, patient_id, title, clinician, opened_on, arches, segments, goals, stages, note) values
    ('019c0000-0007-7000-8000-000000000020', '019c0000-0007-7000-8000-000000000010',
    'Upper molars of both sides moved back from the palate', 'Invented Clinician', '2026-02-02',
    '{"maxilla": {"width_mm": 58, "depth_mm": 47, "vault_height_mm": 17}}',
    '[
        {"name": "upper right molars", "teeth": ["16", "17"], "joined": "rigid"},
        {"name": "upper left molars", "teeth": ["26", "27"], "joined": "rigid"}
    ]',
    '[{"segment": "upper right molars", "mesial_mm": -3}, {"segment": "upper left molars", "mesial_mm": -3}]',
    '[{"name": "molars back", "planned_from": "2026-03-16", "planned_to": "2026-10-26"}, {"name": "front follows"}]',
    'The coils pull at palatal arms 5 mm over the crowns'' middle; the molars turn a little, the mesial side to palatal.')
on conflict do nothing;

insert into holdfast.screws (id, patient_id, case_id, name, site, screw_model_id, lot, expires_on, udi, entry, axis, tissue_mm,
    stand_off_mm, mucosa, predrilled, placed_on, placed_by_count, insertion_torque_ncm)
select id::uuid, '019c0000-0007-7000-8000-000000000010', '019c0000-0007-7000-8000-000000000020', name, site,
    '019c0000-0000-7000-8000-000000000061', 'DEMO-LOT-1', '2029-01-31', '01000000000000001729013110DEMO-LOT-1', entry::jsonb,
    '"perpendicular"', 1.5, 1.0, 'attached', false, '2026-02-16', 140, torque_ncm
from (values
    ('019c0000-0007-7000-8000-000000000031', 'right', 'palate-paramedian', '{"palate": {"right_mm": 4.4, "behind_incisors_mm": 26}}', 18),
    ('019c0000-0007-7000-8000-000000000032', 'left', 'palate-paramedian', '{"palate": {"right_mm": -4.4, "behind_incisors_mm": 26}}', 17)
) as s (id, name, site, entry, torque_ncm)
on conflict do nothing;

insert into holdfast.setups (id, case_id, name, purpose) values
    ('019c0000-0007-7000-8000-000000000041', '019c0000-0007-7000-8000-000000000020', 'palatal plate', 'upper molars of both sides back')
on conflict do nothing;
insert into holdfast.setup_versions (setup_id, worn_from, material, nodes, bars, seats, fittings)
select s.id, '2026-03-16', '"titanium-grade-4"',
    '[
        {"name": "right seat", "at_mm": {"palate": {"right_mm": 4.4, "behind_incisors_mm": 26, "clear_mm": 2.5}}, "tissue_gap_mm": 1.0},
        {"name": "left seat", "at_mm": {"palate": {"right_mm": -4.4, "behind_incisors_mm": 26, "clear_mm": 2.5}}, "tissue_gap_mm": 1.0},
        {"name": "right arm", "at_mm": {"palate": {"right_mm": 12, "behind_incisors_mm": 38, "clear_mm": 3}}, "tissue_gap_mm": 1.5},
        {"name": "left arm", "at_mm": {"palate": {"right_mm": -12, "behind_incisors_mm": 38, "clear_mm": 3}}, "tissue_gap_mm": 1.5},
        {"name": "right hook", "at_mm": {"near": "17", "mesial_mm": -8, "buccal_mm": -9, "occlusal_mm": -5}, "tissue_gap_mm": 1.5},
        {"name": "left hook", "at_mm": {"near": "27", "mesial_mm": -8, "buccal_mm": -9, "occlusal_mm": -5}, "tissue_gap_mm": 1.5}
    ]',
    '[
        {"from": "right seat", "to": "left seat", "section": {"rectangle_mm": [5.0, 2.0]}},
        {"from": "right seat", "to": "right arm", "section": {"round_mm": 1.5}},
        {"from": "right arm", "to": "right hook", "section": {"round_mm": 1.5}},
        {"from": "left seat", "to": "left arm", "section": {"round_mm": 1.5}},
        {"from": "left arm", "to": "left hook", "section": {"round_mm": 1.5}}
    ]',
    '[{"node": "right seat", "screw": "right"}, {"node": "left seat", "screw": "left"}]',
    '[{"node": "right hook", "kind": "hook"}, {"node": "left hook", "kind": "hook"}]'
from holdfast.setups s
where s.id = '019c0000-0007-7000-8000-000000000041'
    and not exists (select from holdfast.setup_versions v where v.setup_id = s.id);

-- Superelastic coils, `gf` on each.
with elements as (
    select * from jsonb_array_elements('[
        {"name": "right coil", "kind": "closed-coil", "from": {"fitting": "right hook"},
            "to": {"segment": "upper right molars", "at_mm": {"near": "16", "mesial_mm": 2, "buccal_mm": -7, "occlusal_mm": -5}}},
        {"name": "left coil", "kind": "closed-coil", "from": {"fitting": "left hook"},
            "to": {"segment": "upper left molars", "at_mm": {"near": "26", "mesial_mm": 2, "buccal_mm": -7, "occlusal_mm": -5}}}
    ]') with ordinality as e (element, place)
)
insert into holdfast.visits (id, case_id, visited_on, worn, elements, screw_checks, measures, actions, next_interval_days, note)
select id::uuid, '019c0000-0007-7000-8000-000000000020', day::date,
    '[{"setup_id": "019c0000-0007-7000-8000-000000000041"}]',
    (select jsonb_agg(element || jsonb_build_object('activated_on', day, 'force_n', jsonb_build_object('value', gf, 'unit', 'gf')) order by place) from elements),
    (select jsonb_agg(jsonb_build_object('screw', s.name, 'mobility_grade', 0, 'inflammation_grade', 0) order by s.id)
        from holdfast.screws s where s.case_id = '019c0000-0007-7000-8000-000000000020'),
    measures::jsonb, actions::jsonb, next_days, note
from (values
    ('019c0000-0007-7000-8000-000000000051', '2026-03-16', 150, '{"overjet_mm": 5.0, "overbite_mm": 3.5}',
        '[{"action": "placed", "of": "palatal plate"}, {"action": "activated", "note": "both coils"}]', 42, null),
    ('019c0000-0007-7000-8000-000000000052', '2026-04-27', 150, '{"overjet_mm": 5.0, "segments": [{"segment": "upper right molars", "mesial_mm": -0.4, "tip_deg": -1},
          {"segment": "upper left molars", "mesial_mm": -0.5, "tip_deg": -1}]}',
        '[{"action": "reactivated"}]', 42, null),
    ('019c0000-0007-7000-8000-000000000053', '2026-06-08', 150, '{"overjet_mm": 4.9, "segments": [{"segment": "upper right molars", "mesial_mm": -1.1, "tip_deg": -2},
          {"segment": "upper left molars", "mesial_mm": -1.2, "tip_deg": -2}]}',
        '[{"action": "reactivated"}]', 42, null),
    ('019c0000-0007-7000-8000-000000000054', '2026-07-20', 150, '{"overjet_mm": 4.8, "segments": [{"segment": "upper right molars", "mesial_mm": -1.8, "tip_deg": -3},
          {"segment": "upper left molars", "mesial_mm": -1.9, "tip_deg": -3}]}',
        '[{"action": "reactivated"}]', 42, null)
) as v (id, day, gf, measures, actions, next_days, note)
on conflict do nothing;
