DROP INDEX session_families_ended;
COMMENT ON COLUMN identities.email IS 'With which they sign in, in lower case; once in the installation.';
DROP INDEX identities_email;
ALTER TABLE identities ADD CONSTRAINT identities_email_once UNIQUE (email);
