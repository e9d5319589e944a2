"""What schemathesis needs to know to send and read what is no JSON: the bytes as they are."""

import schemathesis


@schemathesis.serializer("application/cbor-seq")
def cbor_sequence(ctx, value):
    return value if isinstance(value, bytes) else str(value).encode()
