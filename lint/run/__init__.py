"""Many files to their sheets: in this process, in several, or on a cluster, with one way through all of them."""
