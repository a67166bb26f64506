"""Where things are kept: the dossier folder."""
