DROP TABLE one_time_links;
DROP TABLE session_families;
DROP TABLE memberships;
DROP TABLE identities;
DROP TABLE people;
DROP TABLE shops;
