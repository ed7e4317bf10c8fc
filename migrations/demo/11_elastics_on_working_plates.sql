-- Plates that draw the lower molars forward carry elastics to the upper molars at the same time.

insert into holdfast.patients (id, chart_number, given_name, family_name, birth_date, sex, cigarettes_per_day, note) values
    ('019c0000-000b-7000-8000-000000000010', 'DEMO-011', 'Invented', 'Patient Eleven', '1995-12-01', 'female', 0, 'Invented for the demo.')
on conflict do nothing;

insert into holdfast.cases (id, patient_id, title, clinician, opened_on, segments, goals, stages, note) values
    ('019c0000-000b-7000-8000-000000000020', '019c0000-000b-7000-8000-000000000010',
    'Lower spaces closed from plates, elastics on the same hooks', 'Invented Clinician', '2026-02-16',
    '[
        {"name": "lower right molars", "teeth": ["46", "47"], "joined": "rigid"},
        {"name": "lower left molars", "teeth": ["36", "37"], "joined": "rigid"},
        {"name": "upper arch", "teeth": ["17", "16", "15", "14", "13", "12", "11", "21", "22", "23", "24", "25", "26", "27"], "joined": "rigid"}
    ]',
    '[{"segment": "lower right molars", "mesial_mm": 3}, {"segment": "lower left molars", "mesial_mm": 3}]',
    '[{"name": "molars forward", "planned_from": "2026-03-30", "planned_to": "2026-12-07"}]',
    'Edge to edge in front: the elastics help the upper arch forward. Lower second premolars missing.')
on conflict do nothing;

insert into holdfast.screws (id, patient_id, case_id, name, site, screw_model_id, lot, expires_on, udi, entry, axis, tissue_mm,
    stand_off_mm, root_distance_mm, mucosa, predrilled, placed_on, placed_by_count, insertion_torque_ncm)
select id::uuid, '019c0000-000b-7000-8000-000000000010', '019c0000-000b-7000-8000-000000000020', name, site,
    '019c0000-0000-7000-8000-000000000063', 'DEMO-LOT-2', '2028-06-30', '01000000000000001728063010DEMO-LOT-2', entry::jsonb,
    '"perpendicular"', 1.0, 1.0, root_distance_mm, 'attached', false, '2026-03-02', 95, torque_ncm
from (values
    ('019c0000-000b-7000-8000-000000000031', 'right front', 'mandible-buccal-3-4', '{"vestibule": {"between": ["43", "44"], "apical_mm": 6}}', 9, 1.2),
    ('019c0000-000b-7000-8000-000000000032', 'right back', 'mandible-buccal-3-4', '{"vestibule": {"between": ["44", "45"], "apical_mm": 6}}', 10, 1.3),
    ('019c0000-000b-7000-8000-000000000033', 'left front', 'mandible-buccal-3-4', '{"vestibule": {"between": ["33", "34"], "apical_mm": 6}}', 9, 1.2),
    ('019c0000-000b-7000-8000-000000000034', 'left back', 'mandible-buccal-3-4', '{"vestibule": {"between": ["34", "35"], "apical_mm": 6}}', 10, 1.3)
) as s (id, name, site, entry, torque_ncm, root_distance_mm)
on conflict do nothing;

insert into holdfast.setups (id, case_id, name, purpose) values
    ('019c0000-000b-7000-8000-000000000041', '019c0000-000b-7000-8000-000000000020', 'lower right plate', 'molars forward, elastics'),
    ('019c0000-000b-7000-8000-000000000042', '019c0000-000b-7000-8000-000000000020', 'lower left plate', 'molars forward, elastics')
on conflict do nothing;
insert into holdfast.setup_versions (setup_id, worn_from, material, nodes, bars, seats, fittings)
select s.id, '2026-03-30', '"titanium-grade-4"', replace(replace(v.nodes, '<side>', side), '<q>', q)::jsonb,
    replace(replace(v.bars, '<side>', side), '<q>', q)::jsonb,
    replace(replace(v.seats, '<side>', side), '<q>', q)::jsonb,
    replace(replace(v.fittings, '<side>', side), '<q>', q)::jsonb
from (values
    ('019c0000-000b-7000-8000-000000000041', 'right', '4'),
    ('019c0000-000b-7000-8000-000000000042', 'left', '3')
) as side (id, side, q)
join holdfast.setups s on s.id = side.id::uuid
cross join (values (
    '[
        {"name": "<side> front seat", "at_mm": {"vestibule": {"between": ["<q>3", "<q>4"], "apical_mm": 6, "clear_mm": 2}}, "tissue_gap_mm": 1.0},
        {"name": "<side> back seat", "at_mm": {"vestibule": {"between": ["<q>4", "<q>5"], "apical_mm": 6, "clear_mm": 2}}, "tissue_gap_mm": 1.0},
        {"name": "<side> hook", "at_mm": {"near": "<q>3", "mesial_mm": 0, "buccal_mm": 7, "occlusal_mm": -8}, "tissue_gap_mm": 1.5}
    ]',
    '[
        {"from": "<side> front seat", "to": "<side> back seat", "section": {"rectangle_mm": [3.0, 1.2]}},
        {"from": "<side> front seat", "to": "<side> hook", "section": {"rectangle_mm": [2.5, 1.2]}}
    ]',
    '[{"node": "<side> front seat", "screw": "<side> front"}, {"node": "<side> back seat", "screw": "<side> back"}]',
    '[{"node": "<side> hook", "kind": "hook"}]'
)) as v (nodes, bars, seats, fittings)
where not exists (select from holdfast.setup_versions o where o.setup_id = s.id);

-- Coils of 150 gf; from the second visit elastics of 80 gf besides.
with elements as (
    select * from jsonb_array_elements('[
        {"name": "right coil", "kind": "closed-coil", "from": {"fitting": "right hook"},
            "to": {"tooth": "46", "at": "buccal-tube", "offset_mm": [0, 0, -9]}, "force_n": {"value": 150, "unit": "gf"}},
        {"name": "left coil", "kind": "closed-coil", "from": {"fitting": "left hook"},
            "to": {"tooth": "36", "at": "buccal-tube", "offset_mm": [0, 0, -9]}, "force_n": {"value": 150, "unit": "gf"}},
        {"name": "right elastic", "kind": "elastic", "from": {"fitting": "right hook"},
            "to": {"tooth": "16", "at": "buccal-tube"}, "force_n": {"value": 80, "unit": "gf"}, "renewed_daily": true,
            "hours_per_day": 20},
        {"name": "left elastic", "kind": "elastic", "from": {"fitting": "left hook"},
            "to": {"tooth": "26", "at": "buccal-tube"}, "force_n": {"value": 80, "unit": "gf"}, "renewed_daily": true,
            "hours_per_day": 20}
    ]') with ordinality as e (element, place)
)
insert into holdfast.visits (id, case_id, visited_on, worn, elements, screw_checks, measures, actions, next_interval_days, note)
select id::uuid, '019c0000-000b-7000-8000-000000000020', day::date,
    '[{"setup_id": "019c0000-000b-7000-8000-000000000041"}, {"setup_id": "019c0000-000b-7000-8000-000000000042"}]',
    (select jsonb_agg(element || jsonb_build_object('activated_on', day) order by place) from elements where elastics or element ->> 'kind' <> 'elastic'),
    (select jsonb_agg(jsonb_build_object('screw', s.name, 'mobility_grade', 0, 'inflammation_grade', 0) order by s.id)
        from holdfast.screws s where s.case_id = '019c0000-000b-7000-8000-000000000020'),
    measures::jsonb, actions::jsonb, next_days, note
from (values
    ('019c0000-000b-7000-8000-000000000051', '2026-03-30', false, '{"overjet_mm": 0.0, "overbite_mm": 1.0}',
        '[{"action": "placed", "note": "both plates"}, {"action": "activated", "note": "both coils"}]', 42, null),
    ('019c0000-000b-7000-8000-000000000052', '2026-05-11', true, '{"overjet_mm": 0.0, "overbite_mm": 1.0, "segments": [{"segment": "lower right molars", "mesial_mm": 0.4},
          {"segment": "lower left molars", "mesial_mm": 0.3}]}',
        '[{"action": "reactivated"}, {"action": "instructed", "note": "elastics 20 hours a day"}]', 42, null),
    ('019c0000-000b-7000-8000-000000000053', '2026-06-22', true, '{"overjet_mm": 0.6, "overbite_mm": 1.2, "segments": [{"segment": "lower right molars", "mesial_mm": 0.9},
          {"segment": "lower left molars", "mesial_mm": 0.8}]}',
        '[{"action": "reactivated"}]', 42, null)
) as v (id, day, elastics, measures, actions, next_days, note)
on conflict do nothing;
