"""The record of conformity as a page to be filed."""
