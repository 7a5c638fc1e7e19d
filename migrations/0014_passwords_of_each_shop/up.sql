-- Whoever works for two shops has a password in each: no shop chooses one for another.
ALTER TABLE identities DROP CONSTRAINT identities_email_once;
CREATE INDEX identities_email ON identities (email);
COMMENT ON COLUMN identities.email IS 'With which they sign in, in lower case; once for each shop they work for.';
CREATE INDEX session_families_ended ON session_families (ended_at) WHERE ended_at IS NOT NULL;
