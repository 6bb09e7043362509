"""The pages, one a file. A page is given a Situation and shows it; it computes nothing about mud."""
