"""The statistics, on arrays: noise, critical values, comparison, power. They know no files and no screen."""
