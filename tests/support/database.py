"""Databases in the cluster that with-database.sh runs."""
import os
import subprocess

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
CLUSTER = os.path.join(ROOT, "deploy", "local", "cluster.sh")


def cluster(command, *arguments):
    return subprocess.run([CLUSTER, command, os.environ["HOLDFAST_TEST_CLUSTER"], *arguments],
                          check=True, capture_output=True, text=True).stdout.strip()


def create(name):
    """A fresh, empty database. Returns (conninfo of the owner, conninfo of the serving role)."""
    cluster("psql", "-d", "postgres", "-c", f'drop database if exists "{name}" with (force)')
    cluster("database", name)
    base = f"host={cluster('socket')} dbname={name}"
    return f"{base} user=holdfast_owner", f"{base} user=holdfast_app"
