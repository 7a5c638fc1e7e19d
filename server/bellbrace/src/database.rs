use crate::cluster::{Cluster, ClusterFault, Plan};
use crate::settings::{Secret, Settings};

/// How to reach the database, as URLs for libpq.
#[derive(Clone, Debug)]
pub struct DatabaseUrls {
    /// The role that answers requests and owns nothing.
    pub serving: Secret,
    /// The role that owns the tables and migrates. `None` when the settings
    /// name a database but not its owner: migrating is then not this server's.
    pub owner: Option<Secret>,
}

/// The database of this installation, ours or named in the settings.
pub struct OpenDatabase {
    urls: DatabaseUrls,
    private: Option<Cluster>,
}

impl OpenDatabase {
    /// Starts the private PostgreSQL unless the settings name a database. A
    /// named one is not connected to here: it may come up after us.
    ///
    /// # Errors
    /// Why the private PostgreSQL does not start.
    pub fn open(settings: &Settings) -> Result<Self, ClusterFault> {
        if let Some(serving) = settings.database.url.clone() {
            let owner = settings.database.owner_url.clone();
            return Ok(Self { urls: DatabaseUrls { serving, owner }, private: None });
        }
        let cluster = Cluster::start(&plan(settings))?;
        let urls = DatabaseUrls {
            serving: Secret::new(cluster.serving_url()),
            owner: Some(Secret::new(cluster.owner_url())),
        };
        Ok(Self { urls, private: Some(cluster) })
    }

    pub fn urls(&self) -> &DatabaseUrls {
        &self.urls
    }

    /// Stops the private PostgreSQL, if it is one, and waits for it.
    pub fn close(self) {
        if let Some(cluster) = self.private {
            cluster.stop();
        }
    }
}

/// Where the private PostgreSQL of these settings is to run.
pub fn plan(settings: &Settings) -> Plan {
    Plan::new(&settings.data).on_binaries(settings.database.binaries.clone())
}
