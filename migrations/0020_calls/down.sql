DROP INDEX letters_unheard;
DROP TABLE calls;
DROP DOMAIN call_outcome;
