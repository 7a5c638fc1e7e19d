//! Access tokens (signed, short, in memory) and refresh tokens (one per turn of a session).

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use ed25519_dalek::SigningKey;
use hmac::{Hmac, KeyInit, Mac};
use jsonwebtoken::{Algorithm, DecodingKey, EncodingKey, Header, Validation, decode, encode};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::time::{Duration, SystemTime, UNIX_EPOCH};
use trade::words::ids::{LinkId, PersonId, ShopId};
use trade::words::stage::Role;
use uuid::Uuid;

/// What an access token says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Claims {
    /// Who signed it.
    pub iss: String,
    /// For whom: the staff API, nothing else.
    pub aud: String,
    /// The person.
    pub sub: PersonId,
    /// Their shop.
    pub shop: ShopId,
    /// Their session.
    pub sid: Uuid,
    /// As the record shows them.
    pub name: String,
    /// What they may do.
    pub roles: Vec<Role>,
    /// Not before, in seconds since 1970.
    pub nbf: u64,
    /// Not after, in seconds since 1970.
    pub exp: u64,
}

const ISSUER: &str = "bellbrace";
const AUDIENCE: &str = "bellbrace-staff";

/// The keys of one installation, from one secret.
pub struct Keys {
    sign: EncodingKey,
    verify: DecodingKey,
    refresh: [u8; 32],
    bodies: [u8; 32],
    links: [u8; 32],
    good_for: Duration,
}

impl std::fmt::Debug for Keys {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Keys")
    }
}

/// The seconds since 1970.
fn seconds_now() -> u64 {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs())
}

impl Keys {
    /// Keys from the installation's secret; access tokens are good for `good_for`, ten minutes at most.
    #[must_use]
    pub fn new(secret: &[u8; 32], good_for: Duration) -> Self {
        let purpose = |name: &str| -> [u8; 32] {
            let mut hash = Sha256::new();
            hash.update(name.as_bytes());
            hash.update(secret);
            hash.finalize().into()
        };
        let seed = purpose("access tokens");
        let public = SigningKey::from_bytes(&seed).verifying_key().to_bytes();
        // PKCS#8 of an Ed25519 key is this prefix and the seed (RFC 8410, section 7).
        let mut pkcs8 = vec![0x30, 0x2e, 0x02, 0x01, 0x00, 0x30, 0x05, 0x06, 0x03, 0x2b, 0x65, 0x70, 0x04, 0x22, 0x04, 0x20];
        pkcs8.extend_from_slice(&seed);
        Self {
            sign: EncodingKey::from_ed_der(&pkcs8),
            verify: DecodingKey::from_ed_der(&public),
            refresh: purpose("refresh tokens"),
            bodies: purpose("request bodies"),
            links: purpose("links handed over"),
            good_for: good_for.min(Duration::from_secs(600)),
        }
    }

    /// An access token and the second in which it runs out.
    ///
    /// # Errors
    /// When it cannot be signed.
    pub fn access(
        &self,
        person: PersonId,
        shop: ShopId,
        session: Uuid,
        name: &str,
        roles: Vec<Role>,
    ) -> Result<(String, u64), jsonwebtoken::errors::Error> {
        let now = seconds_now();
        let exp = now + self.good_for.as_secs();
        let claims = Claims {
            iss: ISSUER.to_owned(),
            aud: AUDIENCE.to_owned(),
            sub: person,
            shop,
            sid: session,
            name: name.to_owned(),
            roles,
            nbf: now.saturating_sub(5),
            exp,
        };
        Ok((encode(&Header::new(Algorithm::EdDSA), &claims, &self.sign)?, exp))
    }

    /// The secret of a link that staff hand over: the same for the same link, so that it need not
    /// be kept for a request that is made again.
    #[must_use]
    pub fn link_secret(&self, link: LinkId) -> String {
        let mut bytes = [0_u8; 24];
        if let Ok(mut mac) = Hmac::<Sha256>::new_from_slice(&self.links) {
            mac.update(link.0.as_bytes());
            bytes.copy_from_slice(&mac.finalize().into_bytes()[..24]);
        }
        acts::links::secret_from(&bytes)
    }

    /// What a token says, if it is ours, for the staff API, and of now.
    #[must_use]
    pub fn read(&self, token: &str) -> Option<Claims> {
        let mut rules = Validation::new(Algorithm::EdDSA);
        rules.set_issuer(&[ISSUER]);
        rules.set_audience(&[AUDIENCE]);
        rules.set_required_spec_claims(&["exp", "nbf", "iss", "aud", "sub"]);
        rules.validate_nbf = true;
        rules.leeway = 5;
        decode::<Claims>(token, &self.verify, &rules).ok().map(|token| token.claims)
    }

    /// The refresh token of one turn of a session: it can be made again, so that the immediate
    /// predecessor gets the same successor, and none is stored.
    #[must_use]
    pub fn refresh(&self, session: Uuid, turn: i32) -> String {
        let mut bytes = session.as_bytes().to_vec();
        bytes.extend_from_slice(&turn.to_be_bytes());
        let mut mac = self.mac();
        mac.update(&bytes);
        bytes.extend_from_slice(&mac.finalize().into_bytes());
        URL_SAFE_NO_PAD.encode(bytes)
    }

    /// The session and turn of a refresh token, if it is ours.
    #[must_use]
    pub fn read_refresh(&self, token: &str) -> Option<(Uuid, i32)> {
        let bytes = URL_SAFE_NO_PAD.decode(token).ok()?;
        if bytes.len() != 16 + 4 + 32 {
            return None;
        }
        let (said, sealed) = bytes.split_at(20);
        let mut mac = self.mac();
        mac.update(said);
        mac.verify_slice(sealed).ok()?;
        let session = Uuid::from_slice(said.get(..16)?).ok()?;
        let turn = i32::from_be_bytes(said.get(16..)?.try_into().ok()?);
        Some((session, turn))
    }

    /// What tells one request from another without holding it: under a key, because a body may
    /// carry a password, and a plain hash of it could be guessed fast.
    #[must_use]
    pub fn fingerprint(&self, place: &str, body: &[u8]) -> Vec<u8> {
        let mut mac = Hmac::<Sha256>::new_from_slice(&self.bodies).expect("HMAC takes a key of any length");
        mac.update(place.as_bytes());
        mac.update(&[0]);
        mac.update(body);
        mac.finalize().into_bytes().to_vec()
    }

    fn mac(&self) -> Hmac<Sha256> {
        Hmac::new_from_slice(&self.refresh).expect("HMAC takes a key of any length")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn keys() -> Keys {
        Keys::new(&[7; 32], Duration::from_secs(300))
    }

    #[test]
    fn a_token_says_who_and_where_and_is_refused_when_one_letter_is_changed() {
        let (person, shop) = (PersonId(Uuid::now_v7()), ShopId(Uuid::now_v7()));
        let (token, exp) = keys().access(person, shop, Uuid::now_v7(), "Mara Voss", vec![Role::Technician]).unwrap();
        let claims = keys().read(&token).expect("our own token");
        assert_eq!((claims.sub, claims.shop, claims.exp), (person, shop, exp));
        for at in 0..token.len() {
            let mut other: Vec<u8> = token.bytes().collect();
            other[at] = if other[at] == b'A' { b'B' } else { b'A' };
            let other = String::from_utf8(other).unwrap();
            // The last letter of a base64 part may carry unused bits; then the bytes are the same.
            if let Some(claims) = keys().read(&other) {
                assert_eq!(claims.sub, person, "letter {at}");
                assert!(at + 1 == token.len() || token.as_bytes()[at + 1] == b'.', "letter {at} was changed and still read");
            }
        }
    }

    #[test]
    fn a_token_of_another_installation_or_without_a_signature_is_refused() {
        let other = Keys::new(&[8; 32], Duration::from_secs(300));
        let (token, _) = other.access(PersonId(Uuid::now_v7()), ShopId(Uuid::now_v7()), Uuid::now_v7(), "x", vec![]).unwrap();
        assert!(keys().read(&token).is_none());
        let unsigned = format!("{}.{}.", URL_SAFE_NO_PAD.encode(r#"{"alg":"none","typ":"JWT"}"#), token.split('.').nth(1).unwrap());
        assert!(keys().read(&unsigned).is_none());
    }

    /// RFC 8037, appendix A.4: the Ed25519 signature over a given signing input.
    #[test]
    fn signatures_are_those_of_rfc_8037() {
        let seed: [u8; 32] = URL_SAFE_NO_PAD.decode("nWGxne_9WmC6hEr0kuwsxERJxWl7MmkZcDusAxyuf2A").unwrap().try_into().unwrap();
        let public = SigningKey::from_bytes(&seed).verifying_key().to_bytes();
        assert_eq!(URL_SAFE_NO_PAD.encode(public), "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo");
        let mut pkcs8 = vec![0x30, 0x2e, 0x02, 0x01, 0x00, 0x30, 0x05, 0x06, 0x03, 0x2b, 0x65, 0x70, 0x04, 0x22, 0x04, 0x20];
        pkcs8.extend_from_slice(&seed);
        let input = "eyJhbGciOiJFZERTQSJ9.RXhhbXBsZSBvZiBFZDI1NTE5IHNpZ25pbmc";
        let signature = jsonwebtoken::crypto::sign(input.as_bytes(), &EncodingKey::from_ed_der(&pkcs8), Algorithm::EdDSA).unwrap();
        assert_eq!(signature, "hgyY0il_MGCjP0JzlnLWG1PPOt7-09PGcvMg3AIbQR6dWbhijcNR4ki4iylGjg5BhVsPt9g7sVvpAr_MuM0KAg");
    }

    #[test]
    fn a_refresh_token_is_the_same_for_the_same_turn_and_cannot_be_made_up() {
        let session = Uuid::now_v7();
        let token = keys().refresh(session, 3);
        assert_eq!(token, keys().refresh(session, 3));
        assert_eq!(keys().read_refresh(&token), Some((session, 3)));
        let mut bytes = URL_SAFE_NO_PAD.decode(&token).unwrap();
        bytes[19] += 1;
        assert_eq!(keys().read_refresh(&URL_SAFE_NO_PAD.encode(bytes)), None);
    }
}
