"""A phone's lock made of plain code: it makes passkeys and signs with them, as a browser would hand it on."""

import hashlib
import json
from base64 import urlsafe_b64decode, urlsafe_b64encode
from dataclasses import dataclass, field
from typing import Any

import cbor2
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec

PRESENT, LOCK_OPENED, HAS_KEY = 0x01, 0x04, 0x40  # flags of WebAuthn 2, 6.1


def letters(raw: bytes) -> str:
    return urlsafe_b64encode(raw).rstrip(b"=").decode()


def raw(text: str) -> bytes:
    return urlsafe_b64decode(text + "=" * (-len(text) % 4))


@dataclass
class Lock:
    """One key pair. `count` rises with each use where `counts`; most phones always say 0."""

    number: bytes = b"0123456789abcdef"
    origin: str = "http://testserver"
    host: str = "testserver"
    opens: bool = True
    count: int = 0
    handle: bytes = b""
    key: ec.EllipticCurvePrivateKey = field(default_factory=lambda: ec.generate_private_key(ec.SECP256R1()))

    def make(self, question: dict[str, Any]) -> str:
        """The answer to a question to make a passkey."""
        self.handle = raw(question["user"]["id"])
        said = {"fmt": "none", "attStmt": {}, "authData": self._data(HAS_KEY) + self._key_data()}
        response = {"attestationObject": letters(cbor2.dumps(said))}
        return self._answer("webauthn.create", question, response)

    def show(self, question: dict[str, Any]) -> str:
        """The answer to a question to show it."""
        client, data = self._client("webauthn.get", question), self._data(0)
        signature = self.key.sign(data + hashlib.sha256(client).digest(), ec.ECDSA(hashes.SHA256()))
        response = {"authenticatorData": letters(data), "signature": letters(signature)}
        return self._answer("webauthn.get", question, response | {"userHandle": letters(self.handle)})

    def _answer(self, kind: str, question: dict[str, Any], response: dict[str, str]) -> str:
        said = {"clientDataJSON": letters(self._client(kind, question)), **response}
        number = letters(self.number)
        return json.dumps({"id": number, "rawId": number, "type": "public-key", "response": said})

    def _client(self, kind: str, question: dict[str, Any]) -> bytes:
        return json.dumps({"type": kind, "challenge": question["challenge"], "origin": self.origin}).encode()

    def _data(self, more: int) -> bytes:
        flags = PRESENT | more | (LOCK_OPENED if self.opens else 0)
        return hashlib.sha256(self.host.encode()).digest() + bytes([flags]) + self.count.to_bytes(4, "big")

    def _key_data(self) -> bytes:
        public = self.key.public_key().public_numbers()
        points = {-2: public.x.to_bytes(32, "big"), -3: public.y.to_bytes(32, "big")}
        return (
            bytes(16) + len(self.number).to_bytes(2, "big") + self.number + cbor2.dumps({1: 2, 3: -7, -1: 1} | points)
        )
