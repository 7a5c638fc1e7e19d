ALTER TABLE findings DROP COLUMN overruled;
ALTER TABLE operations DROP COLUMN needs_apart, DROP COLUMN joint;
ALTER TABLE methods
    DROP CONSTRAINT methods_heat_sensible,
    DROP CONSTRAINT methods_joint_kind_known,
    DROP COLUMN plating_metal,
    DROP COLUMN answers,
    DROP COLUMN needs_apart,
    DROP COLUMN joint_kind,
    DROP COLUMN heat_c,
    DROP COLUMN filler,
    DROP COLUMN station;
DROP TABLE plans;
DROP TABLE bench_settings;
DROP TABLE part_maps;
