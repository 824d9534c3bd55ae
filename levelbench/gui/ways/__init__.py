"""Stages that are done in several ways: a row of words to choose one by, each made when it is first chosen."""
