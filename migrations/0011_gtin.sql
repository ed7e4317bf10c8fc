-- By which a scan of a package finds the screw model.

alter table holdfast.screw_models add column gtin text check (gtin ~ '^[0-9]{14}$');
comment on column holdfast.screw_models.gtin is 'Global Trade Item Number, 14 digits, the last a check digit';
create index screw_models_by_gtin on holdfast.screw_models (clinic_id, gtin);
