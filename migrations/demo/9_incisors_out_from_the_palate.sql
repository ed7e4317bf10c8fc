-- An open bite in front: four upper incisors are extruded by one lever from a tube on a palatal plate.

insert into holdfast.patients (id, chart_number, given_name, family_name, birth_date, sex, cigarettes_per_day, note) values
    ('019c0000-0009-7000-8000-000000000010', 'DEMO-009', 'Invented', 'Patient Nine', '2005-02-08', 'female', 0, 'Invented for the demo.')
on conflict do nothing;

insert into holdfast.cases (id, patient_id, title, clinician, opened_on, segments, goals, stages, note) values
    ('019c0000-0009-7000-8000-000000000020', '019c0000-0009-7000-8000-000000000010',
    'Upper incisors extruded by a lever from the palate', 'Invented Clinician', '2026-02-09',
    '[{"name": "upper incisors", "teeth": ["12", "11", "21", "22"], "joined": "rigid"}]',
    '[{"segment": "upper incisors", "occlusal_mm": 2}]',
    '[{"name": "incisors out", "planned_from": "2026-03-30", "planned_to": "2026-07-27"}]',
    'Tongue posture trained first.')
on conflict do nothing;

insert into holdfast.screws (id, patient_id, case_id, name, site, screw_model_id, lot, expires_on, udi, entry, axis, tissue_mm,
    stand_off_mm, mucosa, predrilled, placed_on, placed_by_count, insertion_torque_ncm)
select id::uuid, '019c0000-0009-7000-8000-000000000010', '019c0000-0009-7000-8000-000000000020', name, site,
    '019c0000-0000-7000-8000-000000000061', 'DEMO-LOT-1', '2029-01-31', '01000000000000001729013110DEMO-LOT-1', entry::jsonb,
    '"perpendicular"', 1.5, 1.0, 'attached', false, '2026-02-16', 140, torque_ncm
from (values
    ('019c0000-0009-7000-8000-000000000031', 'right', 'palate-paramedian', '{"palate": {"right_mm": 4.4, "behind_incisors_mm": 24}}', 18),
    ('019c0000-0009-7000-8000-000000000032', 'left', 'palate-paramedian', '{"palate": {"right_mm": -4.4, "behind_incisors_mm": 24}}', 17)
) as s (id, name, site, entry, torque_ncm)
on conflict do nothing;

insert into holdfast.setups (id, case_id, name, purpose) values
    ('019c0000-0009-7000-8000-000000000041', '019c0000-0009-7000-8000-000000000020', 'palatal plate', 'carries the tube of a lever')
on conflict do nothing;
insert into holdfast.setup_versions (setup_id, worn_from, material, nodes, bars, seats, fittings)
select s.id, '2026-03-30', '"titanium-grade-4"',
    '[
        {"name": "right seat", "at_mm": {"palate": {"right_mm": 4.4, "behind_incisors_mm": 24, "clear_mm": 2.5}}, "tissue_gap_mm": 1.0},
        {"name": "left seat", "at_mm": {"palate": {"right_mm": -4.4, "behind_incisors_mm": 24, "clear_mm": 2.5}}, "tissue_gap_mm": 1.0},
        {"name": "tube", "at_mm": {"palate": {"right_mm": 0, "behind_incisors_mm": 18, "clear_mm": 4}}, "tissue_gap_mm": 1.5}
    ]',
    '[
        {"from": "right seat", "to": "left seat", "section": {"rectangle_mm": [3.0, 1.2]}},
        {"from": "right seat", "to": "tube", "section": {"rectangle_mm": [2.5, 1.2]}},
        {"from": "left seat", "to": "tube", "section": {"rectangle_mm": [2.5, 1.2]}}
    ]',
    '[{"node": "right seat", "screw": "right"}, {"node": "left seat", "screw": "left"}]',
    '[{"node": "tube", "kind": "tube", "axis": [0, -1, 0], "slot_in": [0.022, 0.028]}]'
from holdfast.setups s
where s.id = '019c0000-0009-7000-8000-000000000041'
    and not exists (select from holdfast.setup_versions v where v.setup_id = s.id);

-- 40 gf down on the middle of the wire, measured with a gauge.
with elements as (
    select * from jsonb_array_elements('[
        {"name": "lever", "kind": "cantilever", "from": {"fitting": "tube"},
            "to": {"segment": "upper incisors", "at_mm": [0, 6, 6.5]}, "wire": {"section": {"wire_in": [0.017, 0.025]}, "material": "beta-titanium"},
            "length_mm": 14.5, "pull": [0, 0, -1], "force_n": {"value": 40, "unit": "gf"}}
    ]') with ordinality as e (element, place)
)
insert into holdfast.visits (id, case_id, visited_on, worn, elements, screw_checks, measures, actions, next_interval_days, note)
select id::uuid, '019c0000-0009-7000-8000-000000000020', day::date,
    '[{"setup_id": "019c0000-0009-7000-8000-000000000041"}]',
    (select jsonb_agg(element || jsonb_build_object('activated_on', day) order by place) from elements),
    (select jsonb_agg(jsonb_build_object('screw', s.name, 'mobility_grade', 0, 'inflammation_grade', 0) order by s.id)
        from holdfast.screws s where s.case_id = '019c0000-0009-7000-8000-000000000020'),
    measures::jsonb, actions::jsonb, next_days, note
from (values
    ('019c0000-0009-7000-8000-000000000051', '2026-03-30', '{"overjet_mm": 3.0, "overbite_mm": -2.0}',
        '[{"action": "placed", "of": "palatal plate"}, {"action": "activated", "note": "lever"}]', 42, null),
    ('019c0000-0009-7000-8000-000000000052', '2026-05-11', '{"overjet_mm": 2.8, "overbite_mm": -1.2, "segments": [{"segment": "upper incisors", "occlusal_mm": 0.8, "torque_deg": -1}]}',
        '[{"action": "reactivated", "note": "lever"}]', 42, null),
    ('019c0000-0009-7000-8000-000000000053', '2026-06-22', '{"overjet_mm": 2.6, "overbite_mm": -0.3, "segments": [{"segment": "upper incisors", "occlusal_mm": 1.6, "torque_deg": -2}]}',
        '[{"action": "reactivated", "note": "lever"}]', 42, null)
) as v (id, day, measures, actions, next_days, note)
on conflict do nothing;
