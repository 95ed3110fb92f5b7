/* Put before the system's own functions (LD_PRELOAD): lets the n-th call that changes something below a folder end the
 * process, fail once, or wait for ever. What is counted: making, linking, renaming and removing names, setting
 * permissions, writing and flushing.
 *
 * FAULT_UNDER  the folder, absolute
 * FAULT_AT     which call, from 1
 * FAULT_DO     "kill", "wait" or an error number
 * FAULT_MARK   a file that is made once the call came
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/types.h>
#include <sys/uio.h>
#include <unistd.h>

static atomic_long calls;

static int below(const char *path) {
    const char *folder = getenv("FAULT_UNDER");
    return folder && path && strncmp(path, folder, strlen(folder)) == 0;
}

static int below_open(int file) {
    char link[64], path[PATH_MAX];
    snprintf(link, sizeof link, "/proc/self/fd/%d", file);
    ssize_t length = readlink(link, path, sizeof path - 1);
    if (length < 0) return 0;
    path[length] = 0;
    return below(path);
}

static int below_at(int folder, const char *path) {
    return path && (path[0] == '/' ? below(path) : folder != AT_FDCWD && below_open(folder));
}

/* Whether the call is to fail; errno says how. */
static int fault(int counted) {
    const char *at = getenv("FAULT_AT"), *what = getenv("FAULT_DO"), *mark = getenv("FAULT_MARK");
    if (!counted || !at || !what || atomic_fetch_add(&calls, 1) + 1 != atol(at)) return 0;
    if (mark) close(syscall(SYS_openat, AT_FDCWD, mark, O_CREAT | O_WRONLY, 0666));
    if (!strcmp(what, "kill")) {
        kill(getpid(), SIGKILL);
        pause();
    }
    while (!strcmp(what, "wait")) pause();
    errno = atoi(what);
    return 1;
}

#define NEXT(name) __typeof__(&name) next = (__typeof__(&name))dlsym(RTLD_NEXT, #name)
#define CALL(type, name, counted, parameters, arguments) \
    type name parameters {                               \
        NEXT(name);                                      \
        return fault(counted) ? (type)-1 : next arguments; \
    }

CALL(int, mkdir, below(path), (const char *path, mode_t mode), (path, mode))
CALL(int, rmdir, below(path), (const char *path), (path))
CALL(int, unlink, below(path), (const char *path), (path))
CALL(int, unlinkat, below_at(folder, path), (int folder, const char *path, int flags), (folder, path, flags))
CALL(int, rename, below(from), (const char *from, const char *to), (from, to))
CALL(int, link, below(to), (const char *from, const char *to), (from, to))
CALL(int, linkat, below_at(b, to), (int a, const char *from, int b, const char *to, int flags), (a, from, b, to, flags))
CALL(int, chmod, below(path), (const char *path, mode_t mode), (path, mode))
CALL(int, fchmod, below_open(file), (int file, mode_t mode), (file, mode))
CALL(int, fsync, below_open(file), (int file), (file))
CALL(int, fdatasync, below_open(file), (int file), (file))
CALL(ssize_t, write, below_open(file), (int file, const void *bytes, size_t count), (file, bytes, count))
CALL(ssize_t, writev, below_open(file), (int file, const struct iovec *parts, int count), (file, parts, count))

#define OPEN(name)                                                        \
    int name(const char *path, int flags, ...) {                          \
        NEXT(name);                                                       \
        va_list more;                                                     \
        va_start(more, flags);                                            \
        mode_t mode = flags & (O_CREAT | O_TMPFILE) ? va_arg(more, mode_t) : 0; \
        va_end(more);                                                     \
        return fault((flags & O_CREAT) && below(path)) ? -1 : next(path, flags, mode); \
    }
OPEN(open)
OPEN(open64)
