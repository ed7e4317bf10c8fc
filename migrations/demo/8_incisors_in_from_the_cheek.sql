-- A deep bite: four upper incisors are intruded by levers from tubes on two cheek-side
-- plates. A lever is held at one end only, so that the incisors get a force and the tube its couple.

insert into holdfast.patients (id, chart_number, given_name, family_name, birth_date, sex, cigarettes_per_day, note) values
    ('019c0000-0008-7000-8000-000000000010', 'DEMO-008', 'Invented', 'Patient Eight', '1994-09-30', 'male', 0, 'Invented for the demo.')
on conflict do nothing;

insert into holdfast.cases (id, patient_id, title, clinician, opened_on, segments, goals, stages, note) values
    ('019c0000-0008-7000-8000-000000000020', '019c0000-0008-7000-8000-000000000010',
    'Upper incisors intruded by levers from the cheek', 'Invented Clinician', '2026-02-16',
    '[{"name": "upper incisors", "teeth": ["12", "11", "21", "22"], "joined": "rigid"}]',
    '[{"segment": "upper incisors", "occlusal_mm": -2}]',
    '[{"name": "incisors in", "planned_from": "2026-03-30", "planned_to": "2026-08-31"}]',
    'A lever is in the tube at one end only: the incisors get a force and no couple.')
on conflict do nothing;

insert into holdfast.screws (id, patient_id, case_id, name, site, screw_model_id, lot, expires_on, udi, entry, axis, tissue_mm,
    stand_off_mm, mucosa, predrilled, placed_on, placed_by_count, insertion_torque_ncm)
select id::uuid, '019c0000-0008-7000-8000-000000000010', '019c0000-0008-7000-8000-000000000020', name, site,
    '019c0000-0000-7000-8000-000000000061', 'DEMO-LOT-1', '2029-01-31', '01000000000000001729013110DEMO-LOT-1', entry::jsonb,
    '"perpendicular"', 1.5, 1.5, 'movable', false, '2026-03-02', 150, torque_ncm
from (values
    ('019c0000-0008-7000-8000-000000000031', 'right low', 'infrazygomatic', '{"vestibule": {"between": ["15", "16"], "apical_mm": 8}}', 12),
    ('019c0000-0008-7000-8000-000000000032', 'right high', 'infrazygomatic', '{"vestibule": {"between": ["15", "16"], "apical_mm": 15}}', 13),
    ('019c0000-0008-7000-8000-000000000033', 'left low', 'infrazygomatic', '{"vestibule": {"between": ["25", "26"], "apical_mm": 8}}', 12),
    ('019c0000-0008-7000-8000-000000000034', 'left high', 'infrazygomatic', '{"vestibule": {"between": ["25", "26"], "apical_mm": 15}}', 13)
) as s (id, name, site, entry, torque_ncm)
on conflict do nothing;

insert into holdfast.setups (id, case_id, name, purpose) values
    ('019c0000-0008-7000-8000-000000000041', '019c0000-0008-7000-8000-000000000020', 'right plate', 'carries the tube of a lever'),
    ('019c0000-0008-7000-8000-000000000042', '019c0000-0008-7000-8000-000000000020', 'left plate', 'carries the tube of a lever')
on conflict do nothing;
insert into holdfast.setup_versions (setup_id, worn_from, material, nodes, bars, seats, fittings)
select s.id, '2026-03-30', '"titanium-grade-4"', replace(replace(v.nodes, '<side>', side), '<q>', q)::jsonb,
    replace(replace(v.bars, '<side>', side), '<q>', q)::jsonb,
    replace(replace(v.seats, '<side>', side), '<q>', q)::jsonb,
    replace(replace(v.fittings, '<side>', side), '<x>', x)::jsonb
from (values
    ('019c0000-0008-7000-8000-000000000041', 'right', '1', '0.6'),
    ('019c0000-0008-7000-8000-000000000042', 'left', '2', '-0.6')
) as side (id, side, q, x)
join holdfast.setups s on s.id = side.id::uuid
cross join (values (
    '[
        {"name": "<side> low seat", "at_mm": {"vestibule": {"between": ["<q>5", "<q>6"], "apical_mm": 8, "clear_mm": 3}}, "tissue_gap_mm": 1.0},
        {"name": "<side> high seat", "at_mm": {"vestibule": {"between": ["<q>5", "<q>6"], "apical_mm": 15, "clear_mm": 3}}, "tissue_gap_mm": 1.0},
        {"name": "<side> tube", "at_mm": {"near": "<q>5", "mesial_mm": 0, "buccal_mm": 7, "occlusal_mm": -5}, "tissue_gap_mm": 1.5}
    ]',
    '[
        {"from": "<side> low seat", "to": "<side> high seat", "section": {"rectangle_mm": [3.0, 1.2]}},
        {"from": "<side> low seat", "to": "<side> tube", "section": {"rectangle_mm": [2.5, 1.2]}}
    ]',
    '[{"node": "<side> low seat", "screw": "<side> low"}, {"node": "<side> high seat", "screw": "<side> high"}]',
    '[{"node": "<side> tube", "kind": "tube", "axis": [<x>, -0.8, 0], "slot_in": [0.022, 0.028]}]'
)) as v (nodes, bars, seats, fittings)
where not exists (select from holdfast.setup_versions o where o.setup_id = s.id);

-- 25 gf up on each side, measured with a gauge at the end of the lever.
with elements as (
    select * from jsonb_array_elements('[
        {"name": "right lever", "kind": "cantilever", "from": {"fitting": "right tube"},
            "to": {"segment": "upper incisors", "at_mm": {"near": "12", "mesial_mm": 0, "buccal_mm": 4, "occlusal_mm": 0}},
            "wire": {"section": {"wire_in": [0.017, 0.025]}, "material": "beta-titanium"},
            "length_mm": 24, "pull": [0, 0, 1], "force_n": {"value": 25, "unit": "gf"}},
        {"name": "left lever", "kind": "cantilever", "from": {"fitting": "left tube"},
            "to": {"segment": "upper incisors", "at_mm": {"near": "22", "mesial_mm": 0, "buccal_mm": 4, "occlusal_mm": 0}},
            "wire": {"section": {"wire_in": [0.017, 0.025]}, "material": "beta-titanium"},
            "length_mm": 24, "pull": [0, 0, 1], "force_n": {"value": 25, "unit": "gf"}}
    ]') with ordinality as e (element, place)
)
insert into holdfast.visits (id, case_id, visited_on, worn, elements, screw_checks, measures, actions, next_interval_days, note)
select id::uuid, '019c0000-0008-7000-8000-000000000020', day::date,
    '[{"setup_id": "019c0000-0008-7000-8000-000000000041"}, {"setup_id": "019c0000-0008-7000-8000-000000000042"}]',
    (select jsonb_agg(element || jsonb_build_object('activated_on', day) order by place) from elements),
    (select jsonb_agg(jsonb_build_object('screw', s.name, 'mobility_grade', 0, 'inflammation_grade', 0) order by s.id)
        from holdfast.screws s where s.case_id = '019c0000-0008-7000-8000-000000000020'),
    measures::jsonb, actions::jsonb, next_days, note
from (values
    ('019c0000-0008-7000-8000-000000000051', '2026-03-30', '{"overjet_mm": 4.0, "overbite_mm": 6.0}',
        '[{"action": "placed", "of": "right plate"}, {"action": "placed", "of": "left plate"},
          {"action": "activated", "note": "both levers"}]', 42, null),
    ('019c0000-0008-7000-8000-000000000052', '2026-05-11', '{"overjet_mm": 4.3, "overbite_mm": 5.5, "segments": [{"segment": "upper incisors", "occlusal_mm": -0.5, "torque_deg": 2}]}',
        '[{"action": "reactivated", "note": "both levers"}]', 42, null),
    ('019c0000-0008-7000-8000-000000000053', '2026-06-22', '{"overjet_mm": 4.6, "overbite_mm": 4.9, "segments": [{"segment": "upper incisors", "occlusal_mm": -1.1, "torque_deg": 4}]}',
        '[{"action": "reactivated", "note": "both levers"}]', 42, 'Incisors lean forward: the line of force runs before their centre.')
) as v (id, day, measures, actions, next_days, note)
on conflict do nothing;
