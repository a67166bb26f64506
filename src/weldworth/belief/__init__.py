"""From evidence to the probability of each condition for each zone: exact, by quadrature over the shared effects."""
