#!/bin/bash
# Makes the two roles of an installation in a private cluster, if they are not there: roles.sh DIR
# holdfast_owner owns the schema and runs the migrations; holdfast_app serves, and owns nothing.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd -P)
for role in 'holdfast_owner login createrole' 'holdfast_app login'; do
    "$here/cluster.sh" psql "$1" -d postgres -t -A -c "select 1 from pg_roles where rolname = '${role%% *}'" | grep -q 1 ||
        "$here/cluster.sh" psql "$1" -d postgres -c "create role $role"
done
