"""Work given to processes of this machine, or to a Dask cluster, by one interface."""
