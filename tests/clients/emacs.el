;;; emacs.el --- Drives editors/emacs through eglot, in batch  -*- lexical-binding: t; -*-

;; A flawed plan is opened, its findings are seen at their places, a word is hovered over, a fix is taken and its finding
;; goes.  Anything amiss ends with status 1.

(let ((elpa "/usr/share/emacs/site-lisp/elpa"))
  (when (file-directory-p elpa)
    (dolist (dir (directory-files elpa t "\\`[^.]"))
      (when (file-directory-p dir) (add-to-list 'load-path dir)))))
(require 'eglot)
(require 'flymake)
(require 'leadsman (expand-file-name "../../editors/emacs/leadsman.el" (getenv "LEADSMAN_CLIENTS")))

(defun await (what condition)
  "Wait until CONDITION holds; give up on WHAT after half a minute."
  (let ((deadline (+ (float-time) 30)) found)
    (while (and (not (setq found (funcall condition))) (< (float-time) deadline))
      (accept-process-output nil 0.02))
    (unless found
      (error "Waited in vain for %s; findings: %S" what (mapcar #'flymake-diagnostic-text (flymake-diagnostics))))
    found))

(defun finding (words)
  "The finding whose text holds WORDS."
  (seq-find (lambda (it) (string-match-p (regexp-quote words) (flymake-diagnostic-text it))) (flymake-diagnostics)))

(defun covered (it)
  "The text that a finding covers."
  (buffer-substring-no-properties (flymake-diagnostic-beg it) (flymake-diagnostic-end it)))

(setq leadsman-command (list (getenv "LEADSMAN") "lsp")
      eglot-sync-connect 30
      eglot-autoshutdown nil
      flymake-no-changes-timeout 0.1)

(find-file (getenv "LEADSMAN_PLAN"))
(run-hooks 'post-command-hook)
(await "a connection" #'eglot-current-server)
(flymake-mode 1)
(await "the findings" (lambda () (flymake-start) (and (finding "altitud") (finding "ended on") (finding "leaner"))))
(unless (equal (covered (finding "leaner")) "29.7")
  (error "The lean mix covers %S" (covered (finding "leaner"))))
(let ((misspelt (finding "altitud")))
  (unless (equal (covered misspelt) "altitud")
    (error "The misspelt word covers %S" (covered misspelt)))
  (goto-char (point-min))
  (search-forward "temperature")
  (let* ((hover (jsonrpc-request (eglot-current-server) :textDocument/hover (eglot--TextDocumentPositionParams)))
         (said (format "%S" hover)))
    (unless (string-match-p "temperature" said)
      (error "Hover says %s" said)))
  (let* ((actions (eglot-code-actions (flymake-diagnostic-beg misspelt) (flymake-diagnostic-end misspelt) "quickfix"))
         (action (seq-find (lambda (it) (eq t (plist-get it :isPreferred))) actions)))
    (unless action (error "No preferred action among %S" actions))
    (eglot--apply-workspace-edit (plist-get action :edit))))
(eglot--signal-textDocument/didChange)
(await "the finding to go" (lambda () (flymake-start) (and (not (finding "altitud")) (finding "ended on"))))
(goto-char (point-min))
(unless (search-forward "altitude=210" nil t)
  (error "The fix left %s" (buffer-string)))
(goto-char (point-min))
(search-forward "        stay 20 work=light")
(replace-match "  stay   20     work=light")
(eglot--signal-textDocument/didChange)
(eglot-format-buffer)
(goto-char (point-min))
(unless (and (search-forward "\n        stay 20 work=light\n" nil t) (search-forward "\n    cell \"a\"     fitted=" nil t))
  (error "Formatting left %s" (buffer-string)))
(set-buffer-modified-p nil)
(let ((server (eglot-current-server)))
  (eglot-shutdown server)
  (when (process-live-p (jsonrpc--process server))
    (error "The server outlived its shutdown")))
(princ (format "emacs %s with eglot: findings, hover, fix, formatting and shutdown\n" emacs-version))
;;; emacs.el ends here
