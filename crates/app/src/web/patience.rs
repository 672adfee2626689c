//! A connection whose other side must take what it is sent: who asks and does not read holds no place for ever.

use std::io::{Error, ErrorKind, IoSlice, Result};
use std::pin::Pin;
use std::task::{Context, Poll, ready};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::time::{Sleep, sleep};

/// A connection that is given up when nothing of what is sent is taken for so long. Reading waits as long as it likes.
pub struct Patient<T> {
    inner: T,
    most: Duration,
    /// Runs while the other side takes nothing.
    waiting: Option<Pin<Box<Sleep>>>,
}

impl<T: Unpin> Patient<T> {
    /// Over a connection.
    pub fn new(inner: T, most: Duration) -> Self {
        Self { inner, most, waiting: None }
    }

    /// Sends something, unless that has waited too long.
    fn send<R>(
        &mut self,
        context: &mut Context<'_>,
        work: impl FnOnce(Pin<&mut T>, &mut Context<'_>) -> Poll<Result<R>>,
    ) -> Poll<Result<R>> {
        let sent = work(Pin::new(&mut self.inner), context);
        if sent.is_ready() {
            self.waiting = None;
            return sent;
        }
        let most = self.most;
        ready!(self.waiting.get_or_insert_with(|| Box::pin(sleep(most))).as_mut().poll(context));
        Poll::Ready(Err(Error::from(ErrorKind::TimedOut)))
    }
}

impl<T: AsyncRead + Unpin> AsyncRead for Patient<T> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        room: &mut ReadBuf<'_>,
    ) -> Poll<Result<()>> {
        Pin::new(&mut self.inner).poll_read(context, room)
    }
}

impl<T: AsyncWrite + Unpin> AsyncWrite for Patient<T> {
    fn poll_write(mut self: Pin<&mut Self>, context: &mut Context<'_>, bytes: &[u8]) -> Poll<Result<usize>> {
        self.send(context, |inner, context| inner.poll_write(context, bytes))
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        pieces: &[IoSlice<'_>],
    ) -> Poll<Result<usize>> {
        self.send(context, |inner, context| inner.poll_write_vectored(context, pieces))
    }

    fn is_write_vectored(&self) -> bool {
        self.inner.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Result<()>> {
        self.send(context, |inner, context| inner.poll_flush(context))
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Result<()>> {
        self.send(context, |inner, context| inner.poll_shutdown(context))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tokio::io::{AsyncReadExt, AsyncWriteExt, duplex};
    use tokio::time::Instant;

    const MOST: Duration = Duration::from_secs(30);

    #[tokio::test(start_paused = true)]
    async fn who_takes_nothing_is_given_up() {
        let (ours, _theirs) = duplex(16);
        let start = Instant::now();
        let sent = Patient::new(ours, MOST).write_all(&[0; 100]).await;
        assert_eq!(sent.unwrap_err().kind(), ErrorKind::TimedOut);
        assert!(start.elapsed() >= MOST && start.elapsed() < MOST + Duration::from_secs(1));
    }

    #[tokio::test(start_paused = true)]
    async fn who_takes_it_slowly_gets_all_of_it() {
        let (ours, mut theirs) = duplex(16);
        let start = Instant::now();
        let slow = tokio::spawn(async move {
            let (mut room, mut taken) = ([0; 16], 0);
            while taken < 100 {
                sleep(Duration::from_secs(20)).await;
                taken += theirs.read(&mut room).await.unwrap();
            }
        });
        Patient::new(ours, MOST).write_all(&[0; 100]).await.unwrap();
        slow.await.unwrap();
        assert!(start.elapsed() > 2 * MOST);
    }

    #[tokio::test(start_paused = true)]
    async fn reading_waits() {
        let (ours, mut theirs) = duplex(16);
        tokio::spawn(async move {
            sleep(3 * MOST).await;
            theirs.write_all(b"at last").await.unwrap();
        });
        let mut room = [0; 7];
        Patient::new(ours, MOST).read_exact(&mut room).await.unwrap();
        assert_eq!(&room, b"at last");
    }
}
