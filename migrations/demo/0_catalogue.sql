-- What the invented practice chooses from: screw models, plate patterns, a site of its own. Everything in this folder is
-- invented. Sizes, forces and intervals are common practice; rates of movement lie within published ones.

insert into holdfast.screw_models (id, name, diameter_mm, core_mm, length_mm, thread_pitch_mm, tapered, note) values
    ('019c0000-0000-7000-8000-000000000061', '2.0 x 9 mm, self-drilling', 2.0, 1.5, 9, 0.8, false,
        'Invented model: palate, infrazygomatic crest, symphysis.'),
    ('019c0000-0000-7000-8000-000000000062', '2.3 x 9 mm, self-drilling', 2.3, 1.8, 9, 0.9, false,
        'Invented model: palate, when a plate carries orthopaedic forces.'),
    ('019c0000-0000-7000-8000-000000000063', '1.6 x 8 mm, self-drilling, tapered', 1.6, 1.2, 8, 0.7, true,
        'Invented model: between roots.')
on conflict do nothing;

-- No loss of its own yet: the model starts from the loss pooled over all sites.
insert into holdfast.sites (id, key, name, jaw, cortex_mm, mucosa, source) values
    ('019c0000-0000-7000-8000-000000000081', 'mandible-buccal-2-3', 'mandible, buccal, lateral incisor to canine',
        'mandible', 1.5, 'attached', 'Invented: cortex as measured by the invented practice')
on conflict do nothing;

insert into holdfast.plate_patterns (id, name, purpose, material, nodes, bars, seats, fittings) values
    ('019c0000-0000-7000-8000-000000000071', 'palatal bar with two hooks', 'intrusion of upper molars', '"titanium-grade-4"',
    '[
        {"name": "right seat", "at_mm": {"palate": {"right_mm": 4.4, "behind_incisors_mm": 26, "clear_mm": 2.5}}, "tissue_gap_mm": 1.0},
        {"name": "left seat", "at_mm": {"palate": {"right_mm": -4.4, "behind_incisors_mm": 26, "clear_mm": 2.5}}, "tissue_gap_mm": 1.0},
        {"name": "right hook", "at_mm": {"palate": {"right_mm": 13, "behind_incisors_mm": 39, "clear_mm": 3}}, "tissue_gap_mm": 1.5},
        {"name": "left hook", "at_mm": {"palate": {"right_mm": -13, "behind_incisors_mm": 39, "clear_mm": 3}}, "tissue_gap_mm": 1.5}
    ]',
    '[
        {"from": "right seat", "to": "left seat", "section": {"rectangle_mm": [4.0, 1.5]}},
        {"from": "right seat", "to": "right hook", "section": {"round_mm": 1.5}},
        {"from": "left seat", "to": "left hook", "section": {"round_mm": 1.5}}
    ]',
    '[{"node": "right seat", "screw": "right"}, {"node": "left seat", "screw": "left"}]',
    '[{"node": "right hook", "kind": "hook"}, {"node": "left hook", "kind": "hook"}]'),

    ('019c0000-0000-7000-8000-000000000072', 'palatal plate with a tube, right', 'lever to a molar', '"titanium-grade-4"',
    '[
        {"name": "right seat", "at_mm": {"palate": {"right_mm": 4.4, "behind_incisors_mm": 25, "clear_mm": 2.5}}, "tissue_gap_mm": 1.0},
        {"name": "left seat", "at_mm": {"palate": {"right_mm": -4.4, "behind_incisors_mm": 25, "clear_mm": 2.5}}, "tissue_gap_mm": 1.0},
        {"name": "tube", "at_mm": {"palate": {"right_mm": 10, "behind_incisors_mm": 32, "clear_mm": 3}}, "tissue_gap_mm": 1.5}
    ]',
    '[
        {"from": "right seat", "to": "left seat", "section": {"rectangle_mm": [3.0, 1.2]}},
        {"from": "right seat", "to": "tube", "section": {"rectangle_mm": [2.5, 1.2]}}
    ]',
    '[{"node": "right seat", "screw": "right"}, {"node": "left seat", "screw": "left"}]',
    '[{"node": "tube", "kind": "tube", "axis": [0, 1, 0], "slot_in": [0.022, 0.028]}]'),

    ('019c0000-0000-7000-8000-000000000073', 'upright two-hole plate, lower left', 'molars forward', '"titanium-grade-4"',
    '[
        {"name": "upper seat", "at_mm": {"vestibule": {"between": ["33", "34"], "apical_mm": 5, "clear_mm": 2}}, "tissue_gap_mm": 1.0},
        {"name": "lower seat", "at_mm": {"vestibule": {"between": ["33", "34"], "apical_mm": 12, "clear_mm": 2}}, "tissue_gap_mm": 1.0},
        {"name": "hook", "at_mm": {"vestibule": {"between": ["33", "34"], "apical_mm": 2, "clear_mm": 2.5}}, "tissue_gap_mm": 1.5}
    ]',
    '[
        {"from": "upper seat", "to": "lower seat", "section": {"rectangle_mm": [2.5, 1.0]}},
        {"from": "upper seat", "to": "hook", "section": {"rectangle_mm": [2.0, 1.0]}}
    ]',
    '[{"node": "upper seat", "screw": "upper"}, {"node": "lower seat", "screw": "lower"}]',
    '[{"node": "hook", "kind": "hook"}]')
on conflict do nothing;
