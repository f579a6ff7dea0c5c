/* A disk that fails where it is told to: loaded before the C library, it stands between a program
   and every call that changes files below one folder. Built by tests/store/faulty/disk.py.

   faulty_set(folder, at, kind, trace) begins to count; the at-th call meets the fault of that
   kind. With a trace (a descriptor, -1 for none) each call is written there, a line a call. */

#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

enum { NONE, KILL, KILL_HALFWAY, ERROR, GONE, SHORT, FULL, READ_ONLY };

static char folder[PATH_MAX];
static long at, count;
static int kind, trace = -1;

void faulty_set(const char *where, long number, int which, int descriptor) {
  snprintf(folder, sizeof folder, "%s", where);
  at = number, kind = which, trace = descriptor, count = 0;
}

long faulty_count(void) { return count; }

#define REAL(name) ((__typeof__(&name))real(#name))

static void *real(const char *name) {
  void *found = dlsym(RTLD_NEXT, name);
  if (!found) abort();
  return found;
}

static int below(const char *path) {
  size_t length = strlen(folder);
  return length && !strncmp(path, folder, length) && (!path[length] || path[length] == '/');
}

/* Whether a path, as given to a call on a folder's descriptor, lies below our folder. */
static int ours(int dir, const char *path) {
  char whole[2 * PATH_MAX], from[PATH_MAX];
  ssize_t length;
  if (!folder[0]) return 0;
  if (path[0] == '/') return below(path);
  if (dir == AT_FDCWD) {
    if (!getcwd(from, sizeof from)) return 0;
  } else {
    snprintf(whole, sizeof whole, "/proc/self/fd/%d", dir);
    length = readlink(whole, from, sizeof from - 1);
    if (length < 0) return 0;
    from[length] = 0;
  }
  snprintf(whole, sizeof whole, "%s/%s", from, path);
  return below(whole);
}

static int path_of(int file, char *path) {
  char link[64];
  ssize_t length;
  if (!folder[0]) return 0;
  snprintf(link, sizeof link, "/proc/self/fd/%d", file);
  length = readlink(link, path, PATH_MAX - 1);
  if (length < 0) return 0;
  path[length] = 0;
  return below(path);
}

static void note(const char *call, const char *path) {
  char line[PATH_MAX + 64];
  const char *name = strrchr(path, '/');
  int length;
  if (trace < 0) return;
  length = snprintf(line, sizeof line, "%s %s\n", call, name ? name + 1 : path);
  if (REAL(write)(trace, line, (size_t)length) < 0) abort();
}

enum { GO, FAIL, HALF, HALF_AND_DIE };

/* What becomes of the next call: it goes through, fails with errno set, or is half done. */
static int meet(const char *call, const char *path, int writes, int grows) {
  int here, after;
  note(call, path);
  count++;
  here = at && count == at, after = at && count >= at;
  switch (kind) {
    case KILL:
      if (here) raise(SIGKILL);
      return GO;
    case KILL_HALFWAY:
      return here ? HALF_AND_DIE : GO;
    case ERROR:
      errno = EIO;
      return here ? FAIL : GO;
    case GONE: /* locks are the system's own and are let go all the same */
      errno = EIO;
      return after && strcmp(call, "unlock") ? FAIL : GO;
    case SHORT:
      return here && writes ? HALF : GO;
    case FULL:
      errno = ENOSPC;
      return !(after && grows) ? GO : here && writes ? HALF : FAIL;
    case READ_ONLY:
      errno = EROFS;
      return after && strcmp(call, "unlock") ? FAIL : GO;
  }
  return GO;
}

/* For a call that is done whole or not at all; dying halfway is dying right after it. */
#define WHOLE(call, path, grows, done)             \
  do {                                             \
    int fate_ = meet(call, path, 0, grows);        \
    __typeof__(done) result_;                      \
    if (fate_ == FAIL) return -1;                  \
    result_ = (done);                              \
    if (fate_ == HALF_AND_DIE) raise(SIGKILL);     \
    return result_;                                \
  } while (0)

static int grows(int file, off_t end) {
  struct stat status;
  return !fstat(file, &status) && end > status.st_size;
}

#define WRITING(offset, whole, half)                                              \
  char path[PATH_MAX];                                                            \
  int fate;                                                                       \
  ssize_t done;                                                                   \
  if (!path_of(file, path)) return whole;                                         \
  fate = meet("write", path, size > 1, grows(file, (offset) + (off_t)size));      \
  if (fate == FAIL) return -1;                                                    \
  done = fate == GO ? whole : half;                                               \
  if (fate == HALF_AND_DIE) raise(SIGKILL);                                       \
  return done

ssize_t write(int file, const void *data, size_t size) {
  WRITING(lseek(file, 0, SEEK_CUR), REAL(write)(file, data, size),
          REAL(write)(file, data, size / 2));
}

ssize_t pwrite(int file, const void *data, size_t size, off_t offset) {
  WRITING(offset, REAL(pwrite)(file, data, size, offset),
          REAL(pwrite)(file, data, size / 2, offset));
}

ssize_t pwrite64(int file, const void *data, size_t size, off64_t offset) {
  WRITING(offset, REAL(pwrite64)(file, data, size, offset),
          REAL(pwrite64)(file, data, size / 2, offset));
}

/* Reading fails only once the disk has gone. */
#define READING(whole)                                                            \
  char path[PATH_MAX];                                                            \
  if (kind == GONE && at && count >= at && path_of(file, path)) {                 \
    errno = EIO;                                                                  \
    return -1;                                                                    \
  }                                                                               \
  return whole

ssize_t read(int file, void *data, size_t size) { READING(REAL(read)(file, data, size)); }

ssize_t pread(int file, void *data, size_t size, off_t offset) {
  READING(REAL(pread)(file, data, size, offset));
}

ssize_t pread64(int file, void *data, size_t size, off64_t offset) {
  READING(REAL(pread64)(file, data, size, offset));
}

#define ON_FILE(call, grows, done)          \
  char path[PATH_MAX];                      \
  if (!path_of(file, path)) return done;    \
  WHOLE(call, path, grows, done)

int fsync(int file) { ON_FILE("sync", 0, REAL(fsync)(file)); }
int fdatasync(int file) { ON_FILE("sync", 0, REAL(fdatasync)(file)); }
int ftruncate(int file, off_t size) { ON_FILE("truncate", 0, REAL(ftruncate)(file, size)); }
int ftruncate64(int file, off64_t size) { ON_FILE("truncate", 0, REAL(ftruncate64)(file, size)); }
int fchmod(int file, mode_t mode) { ON_FILE("chmod", 0, REAL(fchmod)(file, mode)); }

#define ON_PATH(call, dir, path, grows, done) \
  if (!ours(dir, path)) return done;          \
  WHOLE(call, path, grows, done)

int unlink(const char *path) { ON_PATH("delete", AT_FDCWD, path, 0, REAL(unlink)(path)); }
int unlinkat(int dir, const char *path, int flags) {
  ON_PATH("delete", dir, path, 0, REAL(unlinkat)(dir, path, flags));
}
int rename(const char *from, const char *to) {
  ON_PATH("rename", AT_FDCWD, to, 0, REAL(rename)(from, to));
}
int renameat(int dir, const char *from, int onto, const char *to) {
  ON_PATH("rename", onto, to, 0, REAL(renameat)(dir, from, onto, to));
}
int link(const char *from, const char *to) {
  ON_PATH("link", AT_FDCWD, to, 1, REAL(link)(from, to));
}
int linkat(int dir, const char *from, int onto, const char *to, int flags) {
  ON_PATH("link", onto, to, 1, REAL(linkat)(dir, from, onto, to, flags));
}
int mkdir(const char *path, mode_t mode) {
  ON_PATH("mkdir", AT_FDCWD, path, 1, REAL(mkdir)(path, mode));
}
int mkdirat(int dir, const char *path, mode_t mode) {
  ON_PATH("mkdir", dir, path, 1, REAL(mkdirat)(dir, path, mode));
}
int chmod(const char *path, mode_t mode) {
  ON_PATH("chmod", AT_FDCWD, path, 0, REAL(chmod)(path, mode));
}
int fchmodat(int dir, const char *path, mode_t mode, int flags) {
  ON_PATH("chmod", dir, path, 0, REAL(fchmodat)(dir, path, mode, flags));
}

/* Opening counts when it makes a file. */
#define OPENING(dir, done)                                                             \
  mode_t mode = 0;                                                                     \
  if (flags & O_CREAT) {                                                               \
    va_list rest;                                                                      \
    va_start(rest, flags);                                                             \
    mode = va_arg(rest, mode_t);                                                       \
    va_end(rest);                                                                      \
    if (ours(dir, path) && faccessat(dir, path, F_OK, 0)) WHOLE("create", path, 1, done); \
  }                                                                                    \
  return done

int open(const char *path, int flags, ...) {
  OPENING(AT_FDCWD, REAL(open)(path, flags, mode));
}
int open64(const char *path, int flags, ...) {
  OPENING(AT_FDCWD, REAL(open64)(path, flags, mode));
}
int openat(int dir, const char *path, int flags, ...) {
  OPENING(dir, REAL(openat)(dir, path, flags, mode));
}
int openat64(int dir, const char *path, int flags, ...) {
  OPENING(dir, REAL(openat64)(dir, path, flags, mode));
}

/* Of locks only letting one go counts: nothing is written between asking and having. */
#define LOCKING(name)                                                       \
  va_list rest;                                                             \
  void *argument;                                                           \
  char path[PATH_MAX];                                                      \
  va_start(rest, command);                                                  \
  argument = va_arg(rest, void *);                                          \
  va_end(rest);                                                             \
  if ((command == F_SETLK || command == F_SETLK64) && argument &&           \
      ((struct flock *)argument)->l_type == F_UNLCK && path_of(file, path)) \
    WHOLE("unlock", path, 0, REAL(name)(file, command, argument));          \
  return REAL(name)(file, command, argument)

int fcntl(int file, int command, ...) { LOCKING(fcntl); }
int fcntl64(int file, int command, ...) { LOCKING(fcntl64); }
