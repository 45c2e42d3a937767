"""One guarded reader for every table that a user hands over: designs and catalogues."""
