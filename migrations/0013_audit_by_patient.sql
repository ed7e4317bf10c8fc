-- Who looked at a patient is found by one index over the audit itself. A table of its own had a row, with a reference to
-- check, for each of the fifty patients of a list.
drop table holdfast.audit_patients;
create index audit_by_patient on holdfast.audit using gin (patients) with (gin_pending_list_limit = 1024);

-- It runs with every change of a case: one plan for all, instead of one each time.
alter function holdfast.refresh_standings(uuid, uuid[]) set plan_cache_mode = force_generic_plan;
