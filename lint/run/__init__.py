"""Many files to their reports: in this process, in several, or on a cluster, with what earlier runs found."""
