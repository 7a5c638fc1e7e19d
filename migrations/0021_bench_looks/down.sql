DROP INDEX letters_in_trouble;
DROP INDEX letters_sent;
DROP TABLE bench_looks;
