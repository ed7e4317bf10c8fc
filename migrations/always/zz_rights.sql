-- What the runtime role may do beside its tables; last, so that it covers every function above.
revoke all on all functions in schema holdfast from public;
grant execute on function holdfast.authenticate(bytea, text[]) to holdfast_app;
grant execute on function holdfast.visit_document(uuid, date) to holdfast_app;
grant execute on function holdfast.seal_audit() to holdfast_app;
grant execute on function holdfast.audit_reads(text[], text[], text[], text[], text[], text[], text[]) to holdfast_app;
grant execute on function holdfast.audited(uuid) to holdfast_app;
grant execute on function holdfast.audit_refusal(bytea, text, text, uuid, text, text) to holdfast_app;
grant execute on function holdfast.seal_events() to holdfast_app;
grant execute on function holdfast.events_since(uuid[], bigint[], integer) to holdfast_app;
grant execute on function holdfast.in_force(text[]) to holdfast_app;
grant execute on function holdfast.trim_events(integer) to holdfast_app;
grant execute on function holdfast.claim_deliveries(integer) to holdfast_app;
grant execute on function holdfast.record_delivery(uuid, uuid, integer, text, integer) to holdfast_app;
grant execute on function holdfast.deliver_again(uuid) to holdfast_app;
grant execute on function holdfast.rotate_secret(uuid, text) to holdfast_app;
grant execute on function holdfast.pseudonymise_patient(uuid) to holdfast_app;
grant execute on function holdfast.erase_patient(uuid, text) to holdfast_app;
grant execute on function holdfast.clinics_to_judge() to holdfast_app;
grant execute on function holdfast.standings_to_judge(uuid, integer) to holdfast_app;
grant execute on function holdfast.judge_standing(uuid, uuid, bigint, text, text, text, text, text, text, double precision,
    double precision, double precision) to holdfast_app;
grant execute on function holdfast.judge_anew(text, text) to holdfast_app;
grant execute on function holdfast.refresh_standings(uuid, uuid[]) to holdfast_app;
grant select on holdfast.audit_trail to holdfast_app;
grant select on holdfast.current_setups to holdfast_app;
grant select on holdfast.schema_migrations to holdfast_app;

do $$
begin
    if exists (select from pg_roles where rolname = 'holdfast_app' and (rolsuper or rolbypassrls or rolcreaterole or rolcreatedb)) then
        raise exception 'role holdfast_app has rights that would lift row security';
    end if;
end $$;
