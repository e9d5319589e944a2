//! Waiting for an answer to begin is another thing than an answer that stops coming.

use ureq::Error;
use ureq::Timeout;
use ureq::unversioned::transport::{Buffers, ConnectionDetails, Connector, NextTimeout, Transport};

/// Lets the limit on each read count only once the answer has begun: until then the other side is at work.
#[derive(Debug)]
pub(super) struct Unhurried;

impl<In: Transport> Connector<In> for Unhurried {
    type Out = Connection<In>;

    fn connect(&self, _: &ConnectionDetails<'_>, chained: Option<In>) -> Result<Option<Self::Out>, Error> {
        Ok(chained.map(Connection))
    }
}

#[derive(Debug)]
pub(super) struct Connection<T>(T);

impl<T: Transport> Transport for Connection<T> {
    fn buffers(&mut self) -> &mut dyn Buffers {
        self.0.buffers()
    }

    fn transmit_output(&mut self, amount: usize, timeout: NextTimeout) -> Result<(), Error> {
        self.0.transmit_output(amount, timeout)
    }

    fn await_input(&mut self, mut timeout: NextTimeout) -> Result<bool, Error> {
        if timeout.reason == Timeout::RecvResponse {
            timeout.per_read = None;
        }
        self.0.await_input(timeout)
    }

    fn is_open(&mut self) -> bool {
        self.0.is_open()
    }

    fn is_tls(&self) -> bool {
        self.0.is_tls()
    }
}
