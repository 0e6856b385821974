-- The turns of conversations that were erased: the shop's count of turns keeps them.
ALTER TABLE shop ADD COLUMN erased INTEGER NOT NULL DEFAULT 0;
