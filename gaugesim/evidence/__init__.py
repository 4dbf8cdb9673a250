"""How well what could be agrees with what was seen: words and numbers as likelihoods."""
